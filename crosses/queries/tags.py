"""What stands on the tag of a pollinated flower."""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from django.conf import settings

from crosses.access import pollinations_visible_to
from crosses.base.refusal import Refused
from crosses.calc.checkdigit import read_number
from crosses.calc.errors import BadInput
from crosses.formats.labelsheet import LabelSheet, Position, positions
from crosses.formats.qr import qr_svg
from crosses.models import Pollination
from crosses.queries.written import cross_formula

MOST_TAGS = 480


@dataclass(frozen=True)
class Tag:
    """The words of one tag, and its code, which leads back to the flower's page."""

    own_number: str
    formula: str
    pollinated_on: datetime.date
    flowers: int
    initials: str
    number: str
    code: str

    @property
    def lines(self) -> list[str]:
        """The words alone, as the picture of a sheet shows them."""
        return [self.own_number, self.formula, self.number]


@dataclass(frozen=True)
class PlacedTag:
    """A tag and where it falls."""

    tag: Tag
    position: Position


def was_pollinated(pollination: Pollination) -> bool:
    """Whether there is a pollination to tag, or only a visit at which no pollen was found."""
    return pollination.state != Pollination.State.NO_POLLEN


def tag_of(pollination: Pollination) -> Tag:
    cross = pollination.cross
    address = f"{settings.SITE_ADDRESS}/s/{pollination.number}"
    return Tag(
        own_number=cross.own_number,
        formula=cross_formula(cross),
        pollinated_on=pollination.pollinated_on,
        flowers=pollination.flowers,
        initials="".join(word[0] for word in cross.grower.name.split()).upper()[:4],
        number=pollination.number,
        # One mask for all: the choice among eight takes most of the time of a sheet.
        code=qr_svg(address, title=f"Code for {pollination.number}", mask=2),
    )


def tags_of(user: Any, numbers_text: str) -> list[Tag]:
    """Return the tags of one's own flowers, in the order in which the numbers were typed."""
    numbers = _numbers(numbers_text)
    found = (
        pollinations_visible_to(user)
        .filter(number__in=numbers, cross__grower=user)
        .select_related("cross__grower", "cross__seed_parent", "cross__pollen_parent")
        .prefetch_related("cross__pollen_shares__plant")
    )
    by_number = {pollination.number: pollination for pollination in found}
    missing = [number for number in numbers if number not in by_number]
    if missing:
        raise Refused(
            "flower-unknown", f"These are not your flowers: {', '.join(missing)}.", field="numbers"
        )
    bare = [number for number in numbers if not was_pollinated(by_number[number])]
    if bare:
        raise Refused(
            "no-pollen",
            f"No pollen was found, so there is nothing to tag: {', '.join(bare)}.",
            field="numbers",
        )
    return [tag_of(by_number[number]) for number in numbers]


def _numbers(text: str) -> Sequence[str]:
    numbers = []
    for line in filter(None, map(str.strip, text.splitlines())):
        try:
            numbers.append(read_number(line.rstrip("/").rpartition("/")[2], kind="pollination"))
        except BadInput as no:
            raise Refused("number-wrong", f"{line}: {no.message}", field="numbers") from no
    if len(numbers) > MOST_TAGS:
        raise Refused("too-many", f"Print up to {MOST_TAGS} tags at a time.", field="numbers")
    return numbers


def pages_of(tags: Sequence[Tag], sheet: LabelSheet, start_at: int) -> list[list[PlacedTag]]:
    """Lay tags out on pages; places before `start_at` of the first are used up already."""
    placed = [
        PlacedTag(tag, position)
        for tag, position in zip(tags, positions(sheet, len(tags), start_at=start_at), strict=True)
    ]
    return [list(page) for _number, page in groupby(placed, key=lambda each: each.position.page)]
