"""A grower's season: own numbers and the cross of a pair."""

import re
from typing import Any

from crosses.models import Cross, Plant


def suggested_own_number(grower: Any, season: int) -> str:
    """Return the next number in the common form year-serial, 26-07, for this grower and season."""
    year = f"{season % 100:02d}"
    taken = Cross.objects.filter(grower=grower, season=season).values_list("own_number", flat=True)
    serials = [
        int(found[1]) for own in taken if (found := re.fullmatch(rf"{year}-(\d{{1,6}})", own))
    ]
    return f"{year}-{max(serials, default=0) + 1:02d}"


def cross_of_pair(
    grower: Any,
    season: int,
    seed_parent: Plant,
    pollen: str,
    pollen_parent: Plant | None,
    own_number: str,
) -> Cross | None:
    """Return the grower's cross of this pair and season, under this number if one is given."""
    if pollen == Cross.Pollen.MIXED:
        return None
    crosses = Cross.objects.filter(
        grower=grower,
        season=season,
        seed_parent=seed_parent,
        pollen=pollen,
        pollen_parent=pollen_parent,
        withdrawn_at=None,
    )
    if own_number:
        crosses = crosses.filter(own_number=own_number)
    return crosses.select_related("seed_parent", "pollen_parent").order_by("id").first()
