"""Whole counts side by side: so many of so many, nothing estimated."""

from collections.abc import Sequence
from dataclasses import dataclass

from crosses.calc.errors import BadInput
from crosses.formats.charts.drawing import (
    COLOURS,
    INK,
    Chart,
    Scale,
    add,
    percent,
    sheet,
    shortened,
    write,
    written,
)

WIDTH, LEFT, RIGHT, TOP, BOTTOM = 640, 190, 150, 10, 10
ROW = 28


@dataclass(frozen=True, slots=True)
class CountBar:
    """So many (`count`) of so many (`of`)."""

    label: str
    count: int
    of: int


def count_bars(
    key: str, title: str, bars: Sequence[CountBar], *, equally_long: bool = False
) -> Chart:
    """Draw each count as a filled bar within the outline of what it is counted of.

    The outlines are as long as their numbers, or all `equally_long`, where shares are compared.

    Raises
    ------
    BadInput
        If there is nothing to draw, or a count is below nought or above what it is of.
    """
    if not bars:
        raise BadInput("There is nothing to count yet.", field="bars")
    for bar in bars:
        if not 0 <= bar.count <= bar.of:
            raise BadInput(f"'{bar.label}' is not {bar.count} of {bar.of}.", field="bars")
    summary = " ".join(f"{bar.label}: {_words(bar)}." for bar in bars)
    picture = sheet(key, title, summary, width=WIDTH, height=TOP + ROW * len(bars) + BOTTOM)
    most = max(bar.of for bar in bars)
    for index, bar in enumerate(bars):
        middle = TOP + ROW * (index + 0.5)
        widths = Scale(0, bar.of if equally_long else most, 0, WIDTH - LEFT - RIGHT)
        group = add(picture, "g", class_="chart-bar")
        write(group, LEFT - 10, middle + 4, shortened(bar.label, 28), anchor="end")
        for width, fill, line in (
            (widths.at(bar.count), COLOURS[0], "none"),
            (widths.at(bar.of), "none", INK),
        ):
            add(
                group,
                "rect",
                x=LEFT,
                y=middle - 8,
                width=float(width),
                height=16,
                fill=fill,
                stroke=line,
                class_="chart-fill" if fill != "none" else "chart-outline",
            )
        write(group, LEFT + widths.at(bar.of) + 8, middle + 4, _words(bar))
    rows = tuple(
        (bar.label, str(bar.count), str(bar.of), percent(bar.count / bar.of) if bar.of else "")
        for bar in bars
    )
    return Chart(written(picture), summary, ("What", "Count", "Of", "Share"), rows)


def _words(bar: CountBar) -> str:
    if not bar.of:
        return "none"
    return f"{bar.count} of {bar.of}, {percent(bar.count / bar.of)}"
