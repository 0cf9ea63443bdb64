"""When a capsule that is still closed may open: the chance it stays closed, day by day."""

import itertools
import xml.etree.ElementTree as ET
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from crosses.calc.errors import BadInput
from crosses.formats.charts.drawing import (
    COLOURS,
    GRID,
    INK,
    PALE,
    Chart,
    Scale,
    add,
    day_and_month,
    day_ticks,
    hatching,
    line,
    percent,
    sheet,
    write,
    written,
)

WIDTH, HEIGHT = 640, 190
LEFT, RIGHT, TOP, BOTTOM = 56, 20, 34, 44


@dataclass(frozen=True, slots=True)
class DayChance:
    """Chance that the capsule is still closed at the end of a day, if it is closed today."""

    day: date
    still_closed: float


def survival_bar(
    key: str,
    title: str,
    chances: Sequence[DayChance],
    *,
    look_daily_from: date | None,
    basis: str,
) -> Chart:
    """Draw the chances of consecutive days; days to look are hatched from `look_daily_from`."""
    _check(chances)
    first = chances[0].day
    half = next((one.day for one in chances if one.still_closed <= 0.5), None)
    summary = _summary(half, chances[-1].day, look_daily_from, basis)
    picture = sheet(key, title, summary, width=WIDTH, height=HEIGHT)
    days = Scale(0, len(chances), LEFT, WIDTH - RIGHT)
    closed = Scale(0, 1, HEIGHT - BOTTOM, TOP)
    _draw_axes(picture, chances, days, closed)
    looking = hatching(picture, key)
    for offset, one in enumerate(chances):
        _draw_day(picture, offset, one.still_closed, days, closed, COLOURS[0], "chart-fill", 0.45)
        if look_daily_from is not None and one.day >= look_daily_from:
            _draw_day(picture, offset, one.still_closed, days, closed, looking, "chart-look", 1)
    flags = ((look_daily_from, "look daily from", 12), (half, "half open by", 26))
    for flag, words, y in flags:
        if flag is not None and first <= flag <= chances[-1].day:
            x = days.at((flag - first).days + 0.5)
            line(picture, (x, y + 3), (x, closed.at(0)), INK, "chart-flag")
            # Words lean towards the middle, so that they stay on the sheet.
            side, anchor = (4, "start") if x < WIDTH / 2 else (-4, "end")
            write(picture, x + side, y, f"{words} {day_and_month(flag)}", anchor=anchor)
    rows = tuple((one.day.isoformat(), percent(one.still_closed)) for one in chances)
    return Chart(written(picture), summary, ("Day", "Chance still closed"), rows)


def _draw_axes(
    picture: ET.Element, chances: Sequence[DayChance], days: Scale, closed: Scale
) -> None:
    axes = add(picture, "g", class_="chart-axes")
    for share in (0, 0.5, 1):
        line(axes, (LEFT, closed.at(share)), (WIDTH - RIGHT, closed.at(share)), GRID, "chart-grid")
        write(axes, LEFT - 8, closed.at(share) + 4, percent(share), anchor="end")
    for offset in day_ticks(len(chances) - 1, most=8):
        x = days.at(offset + 0.5)
        line(axes, (x, HEIGHT - BOTTOM), (x, HEIGHT - BOTTOM + 5), PALE, "chart-axis")
        words = day_and_month(chances[offset].day)
        write(axes, x, HEIGHT - BOTTOM + 19, words, anchor="middle")
    words = "chance still closed; days to look are hatched"
    write(axes, (LEFT + WIDTH - RIGHT) / 2, HEIGHT - 8, words, anchor="middle")


def _draw_day(
    picture: ET.Element,
    offset: int,
    still_closed: float,
    days: Scale,
    closed: Scale,
    fill: str,
    name: str,
    opacity: float,
) -> None:
    add(
        picture,
        "rect",
        x=days.at(offset) + 0.5,
        y=closed.at(still_closed),
        width=days.at(offset + 1) - days.at(offset) - 1,
        height=closed.at(0) - closed.at(still_closed),
        fill=fill,
        fill_opacity=opacity,
        class_=name,
    )


def _check(chances: Sequence[DayChance]) -> None:
    if not chances:
        raise BadInput("There is no day to forecast.", field="chances")
    for before, after in itertools.pairwise(chances):
        if (after.day - before.day).days != 1:
            raise BadInput("The days of a forecast follow one another.", field="chances")
        if after.still_closed > before.still_closed:
            raise BadInput("A capsule cannot close again.", field="chances")
    if not 0 <= chances[-1].still_closed <= chances[0].still_closed <= 1:
        raise BadInput("A chance lies between 0 and 100 %.", field="chances")


def _summary(half: date | None, last: date, look_daily_from: date | None, basis: str) -> str:
    if half is None:
        words = f"More likely than not still closed on {day_and_month(last)}."
    else:
        words = f"Half of such capsules have opened by {day_and_month(half)}."
    if look_daily_from is not None:
        words += f" Look daily from {day_and_month(look_daily_from)}."
    return f"{words} {basis}".strip()
