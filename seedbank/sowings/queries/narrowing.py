"""Which sowings make up somebody's germination history, and how it is narrowed."""

import datetime
import re

from django.db.models import Exists, F, OuterRef, Q, QuerySet

from crosses.access import crosses_visible_to, plants_visible_to
from crosses.calc.checkdigit import read_number
from crosses.models import Cross, Plant
from seedbank.bank.access import lots_visible_to
from seedbank.members.models import Member
from seedbank.sowings.access import sowings_visible_to
from seedbank.sowings.models import Count, Pretreatment, Sowing

SEED, POLLEN = "seed", "pollen"
UNTREATED = "none"
_PLANT_NUMBER = re.compile(r"p[\s\-]?\d[\d\s\-]{4,}", re.IGNORECASE)


def sowings_in_history(viewer: Member) -> QuerySet[Sowing]:
    """Sowings one may see, of seed one may see: a rate must not tell of seed kept private."""
    of_visible_seed = Q(grower=viewer) | Q(packet__lot__in=lots_visible_to(viewer))
    return sowings_visible_to(viewer).filter(of_visible_seed)


def from_parent(
    sowings: QuerySet[Sowing], viewer: Member, text: str, *, roles: frozenset[str]
) -> QuerySet[Sowing]:
    """Narrow to seed of recorded crosses with a parent, by its number or a part of its name.

    A selfed plant is its own pollen parent; of a mixture each plant counts.
    Raises BadInput for a number with a mistyped digit.
    """
    crosses = _crosses_from(_plants_meant(viewer, text), roles)
    return sowings.filter(packet__lot__harvest__cross__in=crosses.values("pk"))


def _crosses_from(plants: QuerySet[Plant] | set[int], roles: frozenset[str]) -> QuerySet[Cross]:
    condition = Q()
    if SEED in roles:
        condition |= Q(seed_parent__in=plants)
    if POLLEN in roles:
        condition |= (
            Q(pollen_parent__in=plants)
            | Q(pollen_shares__plant__in=plants)
            | Q(pollen=Cross.Pollen.SELF, seed_parent__in=plants)
        )
    return Cross.objects.filter(condition)


def from_ancestor(sowings: QuerySet[Sowing], viewer: Member, text: str) -> QuerySet[Sowing]:
    """Narrow to seed with a plant anywhere above it, by its number or a part of its name.

    The way down leads through plants and crosses that the reader may open, and through no other:
    what is found must not tell of a link kept private. Raises BadInput for a mistyped number.
    """
    both = frozenset({SEED, POLLEN})
    meant = _plants_meant(viewer, text)
    visible = plants_visible_to(viewer).filter(withdrawn_at=None)
    found = set(visible.filter(pk__in=meant).values_list("pk", flat=True))
    newest = found
    while newest:
        raised = Q(raised_from__in=_crosses_from(newest, both) & crosses_visible_to(viewer))
        divided = Q(propagated_from__in=newest)
        below = visible.filter(raised | divided).values_list("pk", flat=True)
        newest = set(below) - found
        found = found | newest
    above = _crosses_from(found, both).values("pk")
    label = _crosses_from(meant, both).values("pk")
    return sowings.filter(
        Q(packet__lot__harvest__cross__in=above) | Q(packet__lot__harvest__cross__in=label)
    )


def _plants_meant(viewer: Member, text: str) -> QuerySet[Plant]:
    """A name stands on the label of the seed; a number is for who may open that plant."""
    if _PLANT_NUMBER.fullmatch(text.strip()):
        return plants_visible_to(viewer).filter(number=read_number(text.strip(), kind="plant"))
    return Plant.objects.filter(name_text__icontains=text.strip())


def from_cross(sowings: QuerySet[Sowing], viewer: Member, number: str) -> QuerySet[Sowing]:
    crosses = crosses_visible_to(viewer).filter(number=number)
    return sowings.filter(packet__lot__harvest__cross__in=crosses.values("pk"))


def of_season(sowings: QuerySet[Sowing], viewer: Member, season: int) -> QuerySet[Sowing]:
    """Narrow to seed of crosses of a season; of a private cross its season is not told."""
    crosses = crosses_visible_to(viewer).filter(season=season)
    return sowings.filter(packet__lot__harvest__cross__in=crosses.values("pk"))


def of_group(sowings: QuerySet[Sowing], text: str) -> QuerySet[Sowing]:
    """Narrow to a cultivar group that is written in the seed's name: Hollowbeck Group."""
    words = text.strip()
    name = words if words.casefold().endswith(" group") else f"{words} Group"
    return sowings.filter(packet__lot__name_text__icontains=name)


def of_age(
    sowings: QuerySet[Sowing], *, from_days: int | None = None, to_days: int | None = None
) -> QuerySet[Sowing]:
    """Narrow to seed certainly so old when sown; where only its year is known, on every day of it.

    A lot of a year was harvested between its first day and its last, and before it was sown.
    """
    lot_year = "packet__lot__year"
    years = sowings.filter(packet__lot__collected_on=None).order_by()
    condition = Q(packet__lot__collected_on__isnull=False)
    if from_days is not None:
        least = datetime.timedelta(days=from_days)
        condition &= Q(sown_on__gte=F("packet__lot__collected_on") + least)
    if to_days is not None:
        most = datetime.timedelta(days=to_days)
        condition &= Q(sown_on__lte=F("packet__lot__collected_on") + most)
    for year in set(years.values_list(lot_year, flat=True)):
        first, last = datetime.date(year, 1, 1), datetime.date(year, 12, 31)
        of_year = Q(packet__lot__collected_on=None, **{lot_year: year})
        if from_days:
            of_year &= Q(sown_on__gte=last + datetime.timedelta(days=from_days))
        if to_days is not None:
            of_year &= Q(sown_on__lte=first + datetime.timedelta(days=to_days))
        condition |= of_year
    return sowings.filter(condition)


def of_genus(sowings: QuerySet[Sowing], genus: str) -> QuerySet[Sowing]:
    """Narrow to a genus: that of the lot's taxon, else the first word of its name."""
    named = Q(packet__lot__taxon=None) & (
        Q(packet__lot__name_text__iexact=genus)
        | Q(packet__lot__name_text__istartswith=f"{genus} ")
        | Q(packet__lot__name_text__istartswith=f"×{genus} ")
    )
    return sowings.filter(Q(packet__lot__taxon__genus__iexact=genus) | named)


def of_taxon(sowings: QuerySet[Sowing], text: str) -> QuerySet[Sowing]:
    """Narrow to a taxon, each word of whose name is among its genus and epithets.

    Seed that came with no more than a written name is found by the beginning of that name.
    """
    of_kind = Q()
    for word in text.replace("×", " ").split():
        of_kind &= (
            Q(packet__lot__taxon__genus__iexact=word)
            | Q(packet__lot__taxon__species__iexact=word)
            | Q(packet__lot__taxon__infraspecific_rank__iexact=word)
            | Q(packet__lot__taxon__infraspecific_epithet__iexact=word)
        )
    only_named = Q(
        packet__lot__taxon=None, packet__lot__harvest=None, packet__lot__name_text__istartswith=text
    )
    return sowings.filter(of_kind | only_named)


def of_grower(sowings: QuerySet[Sowing], viewer: Member, text: str) -> QuerySet[Sowing]:
    """Narrow to a donor's code, or to oneself by "me" or one's own member number."""
    if text.lower() == "me" or text == viewer.number:
        return sowings.filter(grower=viewer)
    return sowings.filter(grower__donor_code__iexact=text)


def with_treatment(sowings: QuerySet[Sowing], kind: str) -> QuerySet[Sowing]:
    """Narrow to what was done to the seed before; "none" is seed sown as it was."""
    steps = Pretreatment.objects.filter(sowing=OuterRef("pk"))
    if kind == UNTREATED:
        return sowings.filter(~Exists(steps))
    return sowings.filter(Exists(steps.filter(kind=kind)))


def looked_at(sowings: QuerySet[Sowing], *, yes: bool) -> QuerySet[Sowing]:
    looks = Exists(Count.objects.filter(replicate__sowing=OuterRef("pk"), withdrawn_at=None))
    return sowings.filter(looks if yes else ~looks)
