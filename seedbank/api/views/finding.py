"""Records that a body names, as the sender may see them; each is missed at its field."""

from collections.abc import Callable
from typing import Any, TypeVar

from django.http import Http404
from rest_framework.exceptions import ValidationError

from crosses.access import (
    cross_for_reading,
    harvest_for_writing,
    plant_for_reading,
    taxa_known,
)
from crosses.models import Cross, Harvest, Plant, Taxon
from seedbank.bank.access import places_of
from seedbank.bank.models import Place
from seedbank.members.models import Member

Record = TypeVar("Record")


def named(field: str, find: Callable[[], Record], words: str) -> Record:
    try:
        return find()
    except Http404:
        raise ValidationError({field: [words]}) from None


def plant_named(reader: Member, sent: dict[str, Any], field: str) -> Plant | None:
    if field not in sent:
        return None
    return named(
        field,
        lambda: plant_for_reading(reader, sent[field]),
        "You can see no plant of this number.",
    )


def cross_named(reader: Member, sent: dict[str, Any], field: str) -> Cross | None:
    if field not in sent:
        return None
    words = "You can see no cross of this number."
    return named(field, lambda: cross_for_reading(reader, sent[field]), words)


def harvest_named(reader: Member, number: str) -> Harvest:
    words = "You can see no harvest of this number."
    return named("harvest", lambda: harvest_for_writing(reader, number), words)


def taxon_named(sent: dict[str, Any]) -> Taxon | None:
    if "taxon" not in sent:
        return None
    found = taxa_known().filter(pk=sent["taxon"]).first()
    if found is None:
        raise ValidationError({"taxon": ["There is no taxon of this id; see taxa/."]})
    return found


def place_named(reader: Member, sent: dict[str, Any]) -> Place | None:
    if "place" not in sent:
        return None
    places = places_of(reader).filter(code__iexact=sent["place"])
    found = places.order_by("owner").last()
    if found is None:
        raise ValidationError({"place": ["You have no place with this code."]})
    return found
