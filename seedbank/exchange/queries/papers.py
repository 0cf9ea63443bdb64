"""What the society's rules say of a parcel: to be asked about, never to be relied on."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass

from django.conf import settings

from crosses.models import DestinationFlag
from crosses.queries.kinds import genus_written
from seedbank.bank.access import caution_rules
from seedbank.bank.kinds import LotKinds, kinds_of_lots
from seedbank.bank.models import CautionRule, Lot, Packet
from seedbank.calc.cautions import LEVELS, PacketFacts, ParcelFacts, find_cautions, summary
from seedbank.exchange.models import Parcel, ParcelItem
from seedbank.exchange.queries.bars import KIND_PREFETCH, KIND_RELATIONS, flags_met, parents_of

_LEVEL_OF_FLAG = {
    DestinationFlag.Kind.BARRED: "hold",
    DestinationFlag.Kind.QUARANTINE: "ask",
    DestinationFlag.Kind.PROTECTED: "ask",
}


@dataclass(frozen=True, slots=True)
class PaperNote:
    """One rule that some packets of a parcel meet, with where it comes from."""

    level: str
    level_words: str
    rule: str
    finding: str
    words: str
    source: str
    checked_on: datetime.date
    checked_by: str
    packets: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Papers:
    """All that is known to be asked of one parcel, gravest first, and how much that is worth."""

    notes: tuple[PaperNote, ...]
    standing: str

    @property
    def holds(self) -> tuple[PaperNote, ...]:
        """Those that keep the parcel from being closed until a named person gives a reason."""
        return tuple(note for note in self.notes if note.level == "hold")


def papers_of(parcel: Parcel) -> Papers:
    """Return what the rules have to say of a parcel as it is now."""
    items = list(_items(parcel))
    kinds = kinds_of_lots([item.line.lot for item in items])
    rules = [rule.as_rule() for rule in caution_rules()]
    facts = ParcelFacts(
        destination=parcel.member.country,
        sent_from=settings.SOCIETY_COUNTRY,
        packets=tuple(
            _packet_facts(item.packet, item.line.lot, kinds[item.line.lot_id]) for item in items
        ),
    )
    found = find_cautions(facts, rules)
    words_of = dict(CautionRule.Level.choices)
    notes = [
        PaperNote(
            level=caution.level,
            level_words=words_of[CautionRule.Level(caution.level)],
            rule=caution.rule,
            finding=caution.finding,
            words=caution.words,
            source=caution.source,
            checked_on=caution.checked_on,
            checked_by=caution.checked_by,
            packets=caution.packets,
        )
        for caution in found
    ]
    notes += _flag_notes(parcel, items, kinds)
    notes.sort(key=lambda note: -LEVELS.index(note.level))
    return Papers(tuple(notes), summary(found, rules))


def _flag_notes(
    parcel: Parcel, items: Iterable[ParcelItem], kinds: dict[int, LotKinds]
) -> list[PaperNote]:
    """Return the society's flags of single kinds and genera that packets of a parcel meet."""
    flags = list(DestinationFlag.objects.filter(country__in=["", parcel.member.country]))
    met: dict[int, list[str]] = {}
    for item in items:
        for flag in flags_met(kinds[item.line.lot_id], flags):
            met.setdefault(flag.pk, []).append(item.packet.number)
    words_of = dict(CautionRule.Level.choices)
    return [
        PaperNote(
            level=level,
            level_words=words_of[CautionRule.Level(level)],
            rule=f"{flag.genus}: {flag.get_kind_display()}",
            finding="",
            words=flag.words,
            source=flag.source,
            checked_on=flag.checked_on,
            checked_by=flag.checked_by,
            packets=tuple(met[flag.pk]),
        )
        for flag in flags
        if flag.pk in met
        for level in [_LEVEL_OF_FLAG[DestinationFlag.Kind(flag.kind)]]
    ]


def _items(parcel: Parcel) -> Iterable[ParcelItem]:
    return (
        ParcelItem.objects.filter(parcel=parcel, released_at=None)
        .select_related("packet", "line", *(f"line__{path}" for path in KIND_RELATIONS))
        .prefetch_related(f"line__{KIND_PREFETCH}")
        .order_by("packet__number")
    )


def _packet_facts(packet: Packet, lot: Lot, kinds: LotKinds) -> PacketFacts:
    seeds = None if packet.is_pinch else packet.seeds_left
    weight = lot.thousand_seed_weight_grams
    parents = _species_of_parents(lot)
    is_hybrid = _is_hybrid(lot, parents)
    return PacketFacts(
        number=packet.number,
        genus=lot.taxon.genus if lot.taxon else genus_written(lot.name_text),
        species="" if is_hybrid else parents[0],
        is_hybrid=is_hybrid,
        parents_named=sum(bool(species) for species in parents),
        is_artificially_propagated=lot.origin in {Lot.Origin.CONTROLLED, Lot.Origin.GARDEN},
        seeds=seeds,
        grams=seeds * weight / 1000 if seeds is not None and weight else None,
        is_wild_collected=lot.origin == Lot.Origin.WILD,
        collected_on=lot.collected_on or _end_of(lot.year),
        has_permit=bool(lot.wild_permit),
        origin_country=lot.wild_country,
        # Notes of hazard stand on label and slip; not every one of them is about poison.
        other_genera=frozenset(kind.genus.capitalize() for kind in kinds.ancestors),
    )


def _end_of(year: int) -> datetime.date:
    """Return the latest day a harvest of a year can be of; the rules ask what came after a day."""
    return datetime.date(year, 12, 31)


def _species_of_parents(lot: Lot) -> list[str]:
    """Return the species of each parent, as recorded or as written; empty where none is named."""
    if lot.harvest is None and lot.taxon and not lot.taxon.is_hybrid:
        return [lot.taxon.species]
    if lot.harvest is None:
        return _species_written(lot.name_text)
    return [
        plant.taxon.species
        if plant.taxon and not plant.taxon.is_hybrid
        else _epithet(plant.name_text)
        for plant in parents_of(lot)
    ]


def _is_hybrid(lot: Lot, parents: list[str]) -> bool:
    """Take seed for a species only where both parents are named to the same one."""
    if lot.harvest is not None:
        return len(set(parents)) > 1 or not all(parents)
    return len(parents) > 1 or bool(lot.taxon and lot.taxon.is_hybrid)


def _species_written(name_text: str) -> list[str]:
    """Return the species epithets of a written name, one a parent of a formula.

    >>> _species_written("Primula vulgaris × P. veris"), _species_written("Primula 'Smoke'")
    (['vulgaris', 'veris'], [''])
    """
    return [_epithet(part) for part in name_text.split(" × ")]


def _epithet(written: str) -> str:
    words = written.split()
    return words[1] if len(words) > 1 and words[1].isalpha() and words[1].islower() else ""
