"""Find a plant, a cross or a taxon by what somebody typed: its number, its label or its name."""

from typing import Any

from django.db.models import Q, QuerySet

from crosses.access import crosses_visible_to, plants_visible_to, taxa_known
from crosses.base.refusal import Refused
from crosses.calc.checkdigit import read_number
from crosses.calc.errors import BadInput
from crosses.calc.names import read_or_plain, write_name
from crosses.models import Cross, Plant, Taxon

MOST_SUGGESTIONS = 300
MOST_CHOICES = 8
FEWEST_LETTERS = 2
# A name is no longer than this, and what is typed is cut by its field before.
MOST_LETTERS = 200
# What a field holds whose plant is to be written down with the form.
NEW_PLANT = "new plant: "
_AROUND = "'\"‘’“” "


def _number_in(text: str, kind: str) -> str | None:
    """Return the number at the head of a typed or scanned text, or None if there is none."""
    # A scanned tag gives a whole address, a suggestion gives "P000012-34 Primula veris".
    head = text.rstrip("/").rpartition("/")[2].split(maxsplit=1)[0]
    try:
        return read_number(head, kind=kind)
    except BadInput:
        if head[:1].isalpha() and sum(character.isdigit() for character in head) >= 6:
            raise
        return None


def find_plant(
    user: Any, text: str, field: str, *, by_part: bool = False, may_be_new: bool = False
) -> Plant:
    """Return the one plant meant, or refuse in words.

    `by_part` lets a part of the name do, as somebody types it who stands before the plant; a table
    that is brought in has to write the whole. Where it `may_be_new`, the refusal offers to write it
    down, and what that sends back is answered with a plant that the act has to keep.
    """
    if may_be_new and text.startswith(NEW_PLANT):
        return _new_plant(user, text.removeprefix(NEW_PLANT).strip(), field)
    plants = plants_visible_to(user).filter(withdrawn_at=None).select_related("taxon")
    try:
        number = _number_in(text, "plant")
    except BadInput as no:
        raise Refused("number-wrong", no.message, field=field) from no
    if number is not None:
        found = plants.filter(number=number).first()
        if found is None:
            raise Refused("plant-unknown", f"There is no plant {number}.", field=field)
        return found
    spelled = {text.strip(), write_name(read_or_plain(text))}
    named = Q(own_label__iexact=text.strip(), keeper=user)
    for spelling in spelled:
        named |= Q(name_text__iexact=spelling)
    chosen = _nearest(user, plants.filter(named), living_first=by_part)
    if not chosen and by_part and len(text.strip(_AROUND)) >= FEWEST_LETTERS:
        chosen = _nearest(user, plants.filter(_has_every_word(text)), living_first=True)
    if not chosen:
        raise _unknown(text, field, may_be_new=may_be_new)
    if len(chosen) > 1:
        raise _several(text, chosen, field)
    return chosen[0]


def _unknown(text: str, field: str, *, may_be_new: bool) -> Refused:
    if not may_be_new:
        words = f"No plant is called {text}. Add it to the plants first."
        return Refused("plant-unknown", words, field=field)
    return Refused(
        "plant-unknown",
        f"No plant is called {text}. Is it a new one, or written otherwise?",
        field=field,
        choices=[(f"{NEW_PLANT}{text}", f"Write {text} down as a new plant")],
    )


def _new_plant(user: Any, name: str, field: str) -> Plant:
    """Return one's own plant of this name or label, or one that is not written down yet."""
    if not name:
        raise Refused("plant-unnamed", "What is the new plant called?", field=field)
    own = plants_visible_to(user).filter(keeper=user, withdrawn_at=None)
    known = own.filter(Q(name_text__iexact=name) | Q(own_label__iexact=name)).order_by("-pk")
    return known.first() or Plant(name_text=name[:MOST_LETTERS])


def _has_every_word(text: str) -> Q:
    """Each word stands somewhere in the name or the label, whatever is put round it."""
    fits = Q()
    for word in filter(None, (word.strip(_AROUND) for word in text.split())):
        fits &= Q(name_text__icontains=word) | Q(own_label__icontains=word)
    return fits


def _nearest(user: Any, plants: QuerySet[Plant], *, living_first: bool) -> list[Plant]:
    """Return one's own plants that fit, else everybody's, the latest first."""
    fit = plants.order_by("-pk")
    own = fit.filter(keeper=user)
    living = own.filter(died_on=None) if living_first else own.none()
    for nearest in (living, own, fit):
        if found := list(nearest[: MOST_CHOICES + 1]):
            return found
    return []


def _several(text: str, plants: list[Plant], field: str) -> Refused:
    offered = plants[:MOST_CHOICES]
    more = " Type more of the name if it is none of these." if len(plants) > MOST_CHOICES else ""
    numbers = ", ".join(plant.number for plant in offered)
    return Refused(
        "plant-ambiguous",
        f"Several plants fit {text}: {numbers}. Which?{more}",
        field=field,
        choices=[(f"{plant.number} {plant.name_text}", _told_apart(plant)) for plant in offered],
    )


def _told_apart(plant: Plant) -> str:
    label = f", {plant.own_label}" if plant.own_label else ""
    return f"{plant.number} {plant.name_text}{label}"


def find_cross(user: Any, text: str, field: str) -> Cross:
    """Return the one cross meant, by its number or the grower's own number, or refuse in words."""
    crosses = (
        crosses_visible_to(user)
        .filter(withdrawn_at=None)
        .select_related("seed_parent", "pollen_parent", "grower")
    )
    try:
        number = _number_in(text, "cross")
    except BadInput as no:
        raise Refused("number-wrong", no.message, field=field) from no
    if number is not None:
        matches = list(crosses.filter(number=number))
    else:
        matches = list(
            crosses.filter(grower=user, own_number__iexact=text.strip()).order_by("-season")[:6]
        )
    if not matches:
        raise Refused("cross-unknown", f"You have no cross {text}.", field=field)
    if len(matches) > 1:
        numbers = ", ".join(f"{cross.number} ({cross.season})" for cross in matches)
        raise Refused(
            "cross-ambiguous", f"Several crosses have this number: {numbers}. Which?", field=field
        )
    return matches[0]


def find_taxon(text: str, field: str) -> Taxon:
    """Return the taxon of this written name, or refuse in words."""
    wanted = write_name(read_or_plain(text)).casefold()
    genus = wanted.lstrip("×").split(maxsplit=1)[0]
    for taxon in taxa_known().filter(genus__iexact=genus):
        if taxon.name.casefold() == wanted:
            return taxon
    raise Refused(
        "taxon-unknown",
        f"{text} is not among the society's taxa. Leave this empty, and ask for it to be added.",
        field=field,
    )


def plant_suggestions(user: Any) -> list[str]:
    """Return what a field for a plant offers: the grower's own living plants, latest first."""
    plants = (
        plants_visible_to(user)
        .filter(keeper=user, died_on=None, withdrawn_at=None)
        .order_by("-id")
        .values_list("number", "name_text")[:MOST_SUGGESTIONS]
    )
    return [f"{number} {name}" for number, name in plants]


def taxon_suggestions() -> list[str]:
    return [taxon.name for taxon in taxa_known()[:MOST_SUGGESTIONS]]


def cross_suggestions(user: Any) -> list[str]:
    """Return what a field for a cross offers: the grower's own crosses, latest first."""
    crosses = (
        crosses_visible_to(user)
        .filter(grower=user, withdrawn_at=None)
        .order_by("-season", "-id")
        .values_list("number", "own_number")[:MOST_SUGGESTIONS]
    )
    return [f"{number} {own_number}" for number, own_number in crosses]
