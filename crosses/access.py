"""Who may read and who may write a grower's records. Pages and the API begin here."""

from typing import Any

from django.core.exceptions import PermissionDenied
from django.db.models import Q, QuerySet
from django.shortcuts import get_object_or_404

from crosses.base.visibility import Visibility
from crosses.models import Check, CheckPhoto, Cross, Harvest, Plant, Pollination, Taxon


def plants_visible_to(user: Any) -> QuerySet[Plant]:
    return Plant.objects.filter(Q(visibility=Visibility.SOCIETY) | Q(keeper=user))


def plant_for_reading(user: Any, number: str) -> Plant:
    plants = plants_visible_to(user).select_related(
        "taxon", "keeper", "raised_from", "propagated_from", "withdrawn_by"
    )
    return get_object_or_404(plants, number=number)


def plant_for_writing(user: Any, number: str) -> Plant:
    plant = plant_for_reading(user, number)
    if plant.keeper_id != user.pk:
        raise PermissionDenied("Only its keeper may change a plant.")
    return plant


def crosses_visible_to(user: Any) -> QuerySet[Cross]:
    return Cross.objects.filter(Q(visibility=Visibility.SOCIETY) | Q(grower=user))


def cross_for_reading(user: Any, number: str) -> Cross:
    crosses = crosses_visible_to(user).select_related(
        "grower", "seed_parent__taxon", "pollen_parent__taxon", "reciprocal_of", "withdrawn_by"
    )
    return get_object_or_404(crosses, number=number)


def cross_for_writing(user: Any, number: str) -> Cross:
    cross = cross_for_reading(user, number)
    if cross.grower_id != user.pk:
        raise PermissionDenied("Only its grower may add to a cross.")
    return cross


def pollinations_visible_to(user: Any) -> QuerySet[Pollination]:
    return Pollination.objects.filter(
        Q(cross__visibility=Visibility.SOCIETY) | Q(cross__grower=user)
    )


def pollination_for_reading(user: Any, number: str) -> Pollination:
    pollinations = pollinations_visible_to(user).select_related(
        "cross__grower",
        "cross__seed_parent__taxon",
        "cross__pollen_parent__taxon",
        "logged_by",
        "withdrawn_by",
    )
    return get_object_or_404(pollinations, number=number)


def pollination_for_writing(user: Any, number: str) -> Pollination:
    pollination = pollination_for_reading(user, number)
    if pollination.cross.grower_id != user.pk:
        raise PermissionDenied("Only the grower of its cross may write about a flower.")
    return pollination


def check_for_writing(user: Any, pollination_number: str, check_id: int) -> Check:
    pollination = pollination_for_writing(user, pollination_number)
    return get_object_or_404(pollination.checks.select_related("pollination"), pk=check_id)


def photo_for_reading(user: Any, pollination_number: str, photo_id: int) -> CheckPhoto:
    """A photo is seen by whoever may see the flower, until it or its look is taken back."""
    photos = CheckPhoto.objects.filter(
        look__pollination=pollination_for_reading(user, pollination_number),
        look__withdrawn_at=None,
        withdrawn_at=None,
    )
    return get_object_or_404(photos, pk=photo_id)


def photo_for_writing(user: Any, pollination_number: str, photo_id: int) -> CheckPhoto:
    pollination = pollination_for_writing(user, pollination_number)
    photos = CheckPhoto.objects.filter(look__pollination=pollination, withdrawn_at=None)
    return get_object_or_404(photos, pk=photo_id)


def harvests_visible_to(user: Any) -> QuerySet[Harvest]:
    return Harvest.objects.filter(Q(cross__visibility=Visibility.SOCIETY) | Q(cross__grower=user))


def harvest_for_reading(user: Any, number: str) -> Harvest:
    harvests = harvests_visible_to(user).select_related(
        "cross__grower",
        "cross__seed_parent__taxon",
        "cross__pollen_parent__taxon",
        "logged_by",
        "withdrawn_by",
    )
    return get_object_or_404(harvests, number=number)


def harvest_for_writing(user: Any, number: str) -> Harvest:
    harvest = harvest_for_reading(user, number)
    if harvest.cross.grower_id != user.pk:
        raise PermissionDenied("Only the grower of its cross may change a harvest.")
    return harvest


def taxa_known() -> QuerySet[Taxon]:
    """Taxa are the society's common list; every member reads it."""
    return Taxon.objects.all()
