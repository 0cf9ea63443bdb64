"""A season at a glance: what was done to each cross, and when."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from crosses.calc.errors import BadInput
from crosses.formats.charts.drawing import (
    COLOURS,
    GRID,
    MARKS,
    MONTHS,
    PALE,
    Chart,
    Scale,
    add,
    line,
    mark,
    sheet,
    shortened,
    write,
    written,
)

WIDTH, LEFT, RIGHT, TOP = 640, 196, 20, 44
ROW, BOTTOM = 24, 26
KEY_STEP = 100


@dataclass(frozen=True, slots=True)
class TimelineEvent:
    """Something done or seen on a day; `kind` is a word such as pollinated or harvested."""

    day: date
    kind: str


@dataclass(frozen=True, slots=True)
class TimelineRow:
    """One cross and what happened to it."""

    label: str
    events: tuple[TimelineEvent, ...]


def season_timeline(key: str, title: str, rows: Sequence[TimelineRow]) -> Chart:
    """Draw a row a cross, a mark an event; each of up to six kinds has its own mark."""
    events = [event for row in rows for event in row.events]
    if not events:
        raise BadInput("Nothing has happened this season yet.", field="rows")
    kinds = list(dict.fromkeys(event.kind for event in events))
    if len(kinds) > len(MARKS):
        raise BadInput(f"A season shows up to {len(MARKS)} kinds of events.", field="rows")
    first, last = min(event.day for event in events), max(event.day for event in events)
    summary = (
        f"{len(rows)} cross{'' if len(rows) == 1 else 'es'}, {len(events)} "
        f"event{'' if len(events) == 1 else 's'} from {first.isoformat()} to {last.isoformat()}."
    )
    height = TOP + ROW * len(rows) + BOTTOM
    picture = sheet(key, title, summary, width=WIDTH, height=height)
    days = Scale(first.toordinal(), last.toordinal(), LEFT, WIDTH - RIGHT)
    for index, kind in enumerate(kinds):
        mark(picture, 12 + KEY_STEP * index, 14, MARKS[index], COLOURS[index])
        write(picture, 22 + KEY_STEP * index, 18, shortened(kind, 13))
    for month in _months(first, last):
        x = days.at(month.toordinal())
        line(picture, (x, TOP - 8), (x, height - BOTTOM), GRID, "chart-grid")
        write(picture, x, height - 8, MONTHS[month.month - 1], anchor="middle")
    for number, row in enumerate(rows):
        middle = TOP + ROW * (number + 0.5)
        group = add(picture, "g", class_="chart-row")
        write(group, LEFT - 12, middle + 4, shortened(row.label, 24), anchor="end")
        places = [days.at(event.day.toordinal()) for event in row.events]
        if places:
            line(group, (min(places), middle), (max(places), middle), PALE, "chart-span")
        for event, x in zip(row.events, places, strict=True):
            index = kinds.index(event.kind)
            mark(group, x, middle, MARKS[index], COLOURS[index])
    table = tuple(
        (row.label, event.day.isoformat(), event.kind)
        for row in rows
        for event in sorted(row.events, key=lambda event: event.day)
    )
    return Chart(written(picture), summary, ("Cross", "Day", "What"), table)


def _months(first: date, last: date) -> list[date]:
    """List the first days of the months between two days, fewer of them over a long time."""
    months = []
    month = first.replace(day=1)
    while month <= last:
        if month >= first:
            months.append(month)
        month = (month + timedelta(days=32)).replace(day=1)
    return months[:: 1 + len(months) // 13]
