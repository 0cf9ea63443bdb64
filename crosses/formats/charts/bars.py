"""Shares side by side, each with its interval and the number it rests on."""

from collections.abc import Sequence
from dataclasses import dataclass

from crosses.calc.errors import BadInput
from crosses.formats.charts.drawing import (
    COLOURS,
    GRID,
    INK,
    Chart,
    Scale,
    add,
    check_share,
    interval,
    line,
    percent,
    sheet,
    shortened,
    write,
    written,
)

WIDTH, LEFT, RIGHT, TOP, BOTTOM = 640, 190, 196, 10, 26
ROW = 30


@dataclass(frozen=True, slots=True)
class ShareBar:
    """A share with its interval: `count` of `of`."""

    label: str
    count: int
    of: int
    low: float
    high: float


def bars_with_intervals(key: str, title: str, bars: Sequence[ShareBar]) -> Chart:
    """Draw shares as bars with whiskers. Where nothing was tried, only the interval is drawn."""
    if not bars:
        raise BadInput("There is nothing to compare yet.", field="bars")
    for bar in bars:
        if bar.of:
            check_share(bar.label, bar.low, bar.count / bar.of, bar.high)
    summary = " ".join(f"{bar.label}: {_words(bar)}." for bar in bars)
    height = TOP + ROW * len(bars) + BOTTOM
    picture = sheet(key, title, summary, width=WIDTH, height=height)
    shares = Scale(0, 1, LEFT, WIDTH - RIGHT)
    axes = add(picture, "g", class_="chart-axes")
    for quarter in range(5):
        x = shares.at(quarter / 4)
        line(axes, (x, TOP), (x, height - BOTTOM), GRID, "chart-grid")
        write(axes, x, height - 8, percent(quarter / 4), anchor="middle")
    for index, bar in enumerate(bars):
        middle = TOP + ROW * (index + 0.5)
        group = add(picture, "g", class_="chart-bar")
        write(group, LEFT - 10, middle + 4, shortened(bar.label, 28), anchor="end")
        if bar.of:
            add(
                group,
                "rect",
                x=LEFT,
                y=middle - 7,
                width=shares.at(bar.count / bar.of) - LEFT,
                height=14,
                fill=COLOURS[0],
                fill_opacity=0.45,
                class_="chart-fill",
            )
        ends = shares.at(bar.low), shares.at(bar.high)
        line(group, (ends[0], middle), (ends[1], middle), INK, "chart-whisker")
        for end in ends:
            line(group, (end, middle - 5), (end, middle + 5), INK, "chart-whisker")
        write(group, WIDTH - RIGHT + 12, middle + 4, _words(bar))
    rows = tuple(
        (
            bar.label,
            percent(bar.count / bar.of) if bar.of else "none tried",
            interval(bar.low, bar.high),
            f"{bar.count} of {bar.of}",
        )
        for bar in bars
    )
    return Chart(written(picture), summary, ("Of", "Share", "95 % interval", "Counted"), rows)


def _words(bar: ShareBar) -> str:
    if not bar.of:
        return "none tried"
    return f"{percent(bar.count / bar.of)} ({interval(bar.low, bar.high)}), n = {bar.of}"
