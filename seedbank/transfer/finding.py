"""Find the records that a cell names, or refuse in words at that cell."""

import uuid
from collections.abc import Mapping, Sequence
from typing import Any, TypeVar

from django.db.models import Model

from crosses.access import crosses_visible_to, plants_visible_to
from crosses.base.refusal import Refused
from crosses.base.withdrawal import Withdrawable
from crosses.calc.errors import BadInput
from crosses.models import Cross, Plant, Pollination, Taxon
from crosses.queries.finding import find_plant, find_taxon
from seedbank.bank.models import Lot, Place
from seedbank.exchange.models import Round
from seedbank.members.models import Member
from seedbank.transfer.cells import Cells, key_of

Found = TypeVar("Found", bound=Model)


def member_in(cells: Cells, column: str) -> Member:
    """Return the member of a number; empty is the one who imports. Others' records are a keeper's."""
    number = cells.text(column)
    importer = cells.importing.by
    if not number or number == importer.number:
        return importer
    if not importer.is_keeper:
        raise BadInput("You can bring in your own records only.", field=column)
    return _one(
        Member.objects.filter(number=number).first(), column, f"There is no member {number}."
    )


def plant_in(cells: Cells, column: str, keeper: Member) -> Plant | None:
    """Return a plant by number, by its keeper's label or by name."""
    text = cells.text(column)
    return plant_called(text, column, keeper) if text else None


def plant_called(text: str, column: str, keeper: Member) -> Plant:
    """Return the keeper's own plant of that label, or the only one others show, or one by name."""
    labelled = plants_visible_to(keeper).filter(own_label=text, withdrawn_at=None)
    labelled = labelled.select_related("taxon")
    own = labelled.filter(keeper=keeper).first()
    if own is not None:
        return own
    others = list(labelled[:2])
    if len(others) > 1:
        raise BadInput(
            f"Several members have a plant labelled {text}; give its society number.", field=column
        )
    return others[0] if others else find_plant(keeper, text, column)


def taxon_in(cells: Cells, column: str) -> Taxon | None:
    text = cells.text(column)
    return find_taxon(text, column) if text else None


def cross_in(cells: Cells, column: str, grower: Member, season: int | None) -> Cross | None:
    """Return a cross by its society number, or by the grower's own number and season."""
    text = cells.text(column)
    if not text:
        return None
    crosses = crosses_visible_to(grower).filter(withdrawn_at=None)
    crosses = crosses.select_related("seed_parent", "pollen_parent", "grower")
    by_number = crosses.filter(number=text).first()
    if by_number:
        return by_number
    own = crosses.filter(grower=grower, own_number=text)
    if season is not None:
        own = own.filter(season=season)
    found = list(own.order_by("-season")[:2])
    if len(found) > 1:
        raise BadInput(
            f"{text} stands for crosses of several seasons; give the season.", field=column
        )
    return _one(found[0] if found else None, column, f"{grower.name} has no cross {text}.")


def pollination_in(cells: Cells, column: str, grower: Member) -> Pollination:
    text = cells.needed(column)
    found = Pollination.objects.filter(
        client_key=key_of("pollination", grower.number, text)
    ).first()
    found = found or Pollination.objects.filter(number=text, cross__grower=grower).first()
    return _one(found, column, f"{grower.name} has no pollination {text}.")


def lot_key(importer: Member, text: str) -> uuid.UUID:
    """Two members may both call a lot GARDEN-01; the key is the importer's own."""
    return key_of("lot", importer.number, text)


def lot_in(cells: Cells, text: str, column: str) -> Lot:
    """Return a lot by its society number, or by the key an earlier file gave it."""
    importer = cells.importing.by
    lots = Lot.objects.filter(withdrawn_at=None).select_related("owner", "harvest__cross", "taxon")
    found = (
        lots.filter(number=text).first() or lots.filter(client_key=lot_key(importer, text)).first()
    )
    found = _one(found, column, f"There is no seed lot {text}.")
    if not importer.is_keeper and found.owner_id != importer.pk:
        raise BadInput(f"{text} is not your lot.", field=column)
    return found


def place_in(cells: Cells, column: str, owner: Member | None) -> Place | None:
    code = cells.text(column)
    if not code:
        return None
    found = Place.objects.filter(code__iexact=code, owner=owner).first()
    return _one(found, column, f"There is no place {code}. Add it to the places first.")


def round_in(cells: Cells, column: str) -> Round:
    slug = cells.needed(column)
    return _one(Round.objects.filter(slug=slug).first(), column, f"There is no round {slug}.")


def _one(found: Found | None, column: str, words: str) -> Found:
    if found is None:
        raise Refused("not-found", words, field=column)
    return found


def members_in(rows: Sequence[Cells], column: str) -> dict[str, Member]:
    """Return by number the members that many rows name, as far as the importer may name them."""
    importer = rows[0].importing.by
    found = {"": importer, importer.number: importer}
    if importer.is_keeper:
        wanted = {cells.raw(column) for cells in rows}
        found |= {member.number: member for member in Member.objects.filter(number__in=wanted)}
    return found


def taxa_in(rows: Sequence[Cells], column: str) -> dict[str, Taxon]:
    """Return by their text the taxa that many rows name."""
    found = {}
    for text in {cells.raw(column) for cells in rows} - {""}:
        try:
            found[text] = find_taxon(text, column)
        except Refused:
            # Told at its own row.
            continue
    return found


def changed_facts(record: Any, facts: Mapping[str, Any]) -> dict[str, Any]:
    """Return the facts that differ from what a record says now."""
    return {name: value for name, value in facts.items() if getattr(record, name) != value}


def facts_before(record: Any, facts: Mapping[str, Any]) -> dict[str, Any]:
    """Return what a record says now where the facts differ."""
    return {name: getattr(record, name) for name in changed_facts(record, facts)}


def refuse_other_facts(record: Any, facts: Mapping[str, Any], words: str) -> None:
    """Refuse, at its cell, a row that says otherwise of what a table cannot change."""
    for name in changed_facts(record, facts):
        raise BadInput(words, field=name)


def refuse_withdrawn_row(record: Withdrawable, what: str, column: str) -> None:
    """A record that was withdrawn is not brought back by a table that still has its row."""
    if record.is_withdrawn:
        raise BadInput(f"This {what} was withdrawn: {record.withdrawn_reason}", field=column)
