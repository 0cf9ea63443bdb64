"""What took: the one definition, for every page, chart, table and field that shows a rate.

A flower took when a capsule set. It is counted once it is decided, and only where pollen was on it:
a visit at which no pollen was found is no pollination. Of one cross all such flowers count. Of a
plant, a month or a pair only those given pollen of one other plant: selfings fail by something
else, of a mixture nobody knows whose pollen it was, and a control was given none.
"""

from typing import Any

from django.db.models import Q, QuerySet, Sum
from django.db.models.functions import Coalesce

from crosses.calc.rates import Share, wilson
from crosses.models import Cross, Pollination
from crosses.models.pollination import UNDECIDED


def is_decided(of: str = "") -> Q:
    """Return the condition on a flower, or on the flowers at the end of a path such as a cross's."""
    # A flower nobody knows of yet is neither a success nor a failure.
    known = [state for state in Pollination.State if state not in UNDECIDED]
    return Q(
        **{
            f"{of}withdrawn_at": None,
            f"{of}pollen_seen": True,
            f"{of}state__in": known,
        }
    )


def told_of_parents(pollinations: QuerySet[Pollination]) -> QuerySet[Pollination]:
    """Return those flowers that say how readily plants take when crossed with another."""
    return pollinations.filter(
        is_decided(),
        cross__withdrawn_at=None,
        cross__pollen=Cross.Pollen.PLANT,
    ).order_by()


def took_by(pollinations: QuerySet[Pollination], *fields: str) -> list[tuple[Any, ...]]:
    """Return each value of some fields with how many flowers took and of how many, in one query."""
    told = told_of_parents(pollinations)
    return list(told.values_list(*fields).annotate(Sum("capsules_set"), Sum("flowers")))


def took_and_decided() -> dict[str, Any]:
    """Return what a list of crosses is annotated with for `take_in_row`."""
    decided = is_decided("pollinations__")
    return {
        "flowers_decided": Coalesce(Sum("pollinations__flowers", filter=decided), 0),
        "capsules_in_all": Coalesce(Sum("pollinations__capsules_set", filter=decided), 0),
    }


def take_in_row(cross: Any) -> Share:
    return wilson(cross.capsules_in_all, cross.flowers_decided)


def take_of(cross: Cross) -> Share:
    """Return how many of one cross's decided flowers took."""
    found = cross.pollinations.filter(is_decided()).aggregate(
        capsules=Sum("capsules_set"), flowers=Sum("flowers")
    )
    return wilson(found["capsules"] or 0, found["flowers"] or 0)
