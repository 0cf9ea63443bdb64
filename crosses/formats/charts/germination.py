"""Seeds up against days after sowing, with what is not known drawn as not known."""

import xml.etree.ElementTree as ET
from collections.abc import Sequence
from dataclasses import dataclass

from crosses.calc.errors import BadInput
from crosses.formats.charts.drawing import (
    COLOURS,
    DASHES,
    GRID,
    INK,
    MARKS,
    PALE,
    Chart,
    Scale,
    add,
    check_share,
    day_ticks,
    hatching,
    interval,
    line,
    mark,
    percent,
    sheet,
    shortened,
    spread,
    write,
    written,
)

WIDTH, HEIGHT = 640, 320
LEFT, RIGHT, TOP, BOTTOM = 56, 150, 16, 44
LABEL_GAP = 15


@dataclass(frozen=True, slots=True)
class GerminationStep:
    """Share of the seeds sown that were up at a look, with its interval; days after sowing."""

    day: float
    share: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class GerminationSeries:
    """One sowing: its looks in order, and a fitted curve as (day, share) if there is one."""

    label: str
    sown: int
    steps: tuple[GerminationStep, ...]
    curve: tuple[tuple[float, float], ...] = ()


def germination_curve(key: str, title: str, series: Sequence[GerminationSeries]) -> Chart:
    """Draw up to six sowings. Between two looks seeds came up on days nobody saw: hatched."""
    _check(series)
    last_day = max(
        [step.day for one in series for step in one.steps]
        + [day for one in series for day, _ in one.curve]
    )
    summary = " ".join(_sentence(one) for one in series)
    picture = sheet(key, title, summary, width=WIDTH, height=HEIGHT)
    unknown = hatching(picture, key)
    days = Scale(0, last_day, LEFT, WIDTH - RIGHT)
    shares = Scale(0, 1, HEIGHT - BOTTOM, TOP)
    _draw_axes(picture, days, shares)
    label_places = spread([shares.at(one.steps[-1].share) for one in series], LABEL_GAP)
    for index, (one, place) in enumerate(zip(series, label_places, strict=True)):
        group = add(picture, "g", class_=f"chart-series chart-series-{index + 1}")
        _draw_series(group, one, days, shares, unknown, index)
        write(group, WIDTH - RIGHT + 10, place + 4, shortened(one.label, 22))
    rows = tuple(
        (
            one.label,
            f"{step.day:g}",
            percent(step.share),
            interval(step.low, step.high),
            str(one.sown),
        )
        for one in series
        for step in one.steps
    )
    header = ("Sowing", "Day after sowing", "Up", "95 % interval", "Seeds sown")
    return Chart(written(picture), summary, header, rows)


def _check(series: Sequence[GerminationSeries]) -> None:
    if not 1 <= len(series) <= len(COLOURS):
        raise BadInput(f"Choose one to {len(COLOURS)} sowings to draw.", field="series")
    for one in series:
        days = [step.day for step in one.steps]
        if not days:
            raise BadInput(f"'{one.label}' was never looked at.", field="series")
        if days[0] <= 0 or days != sorted(set(days)):
            raise BadInput(f"The looks at '{one.label}' are not in order.", field="series")
        for step in one.steps:
            check_share(one.label, step.low, step.share, step.high)


def _sentence(one: GerminationSeries) -> str:
    last = one.steps[-1]
    return (
        f"{one.label}: {percent(last.share)} of {one.sown} seeds up by day {last.day:g} "
        f"({interval(last.low, last.high)})."
    )


def _draw_axes(picture: ET.Element, days: Scale, shares: Scale) -> None:
    axes = add(picture, "g", class_="chart-axes")
    for quarter in range(5):
        y = shares.at(quarter / 4)
        line(axes, (LEFT, y), (WIDTH - RIGHT, y), GRID, "chart-grid")
        write(axes, LEFT - 8, y + 4, percent(quarter / 4), anchor="end")
    for day in day_ticks(days.high):
        x = days.at(day)
        line(axes, (x, HEIGHT - BOTTOM), (x, HEIGHT - BOTTOM + 5), PALE, "chart-axis")
        write(axes, x, HEIGHT - BOTTOM + 19, str(day), anchor="middle")
    line(axes, (LEFT, HEIGHT - BOTTOM), (WIDTH - RIGHT, HEIGHT - BOTTOM), INK, "chart-axis")
    words = "days after sowing; hatched: came up between two looks"
    write(axes, (LEFT + WIDTH - RIGHT) / 2, HEIGHT - 8, words, anchor="middle")


def _draw_series(
    group: ET.Element,
    one: GerminationSeries,
    days: Scale,
    shares: Scale,
    unknown: str,
    index: int,
) -> None:
    colour = COLOURS[index]
    before = GerminationStep(0, 0, 0, 0)
    solid = [f"M{days.at(0):.2f} {shares.at(0):.2f}"]
    for step in one.steps:
        x, width = days.at(before.day), days.at(step.day) - days.at(before.day)
        _block(group, x, width, shares, (before.low, step.high), colour, "chart-band", 0.12)
        if step.share > before.share:
            _block(group, x, width, shares, (before.share, step.share), unknown, "chart-unknown", 1)
        solid.append(f"H{days.at(step.day):.2f}V{shares.at(step.share):.2f}")
        before = step
    add(
        group,
        "path",
        d="".join(solid),
        fill="none",
        stroke=colour,
        stroke_width=2,
        stroke_dasharray=DASHES[index],
        class_="chart-line",
    )
    for step in one.steps:
        mark(group, days.at(step.day), shares.at(step.share), MARKS[index], colour)
    if one.curve:
        points = " ".join(f"{days.at(day):.2f},{shares.at(share):.2f}" for day, share in one.curve)
        add(
            group,
            "polyline",
            points=points,
            fill="none",
            stroke=colour,
            stroke_width=1,
            class_="chart-curve",
        )


def _block(
    group: ET.Element,
    x: float,
    width: float,
    shares: Scale,
    between: tuple[float, float],
    fill: str,
    name: str,
    opacity: float,
) -> None:
    low, high = between
    add(
        group,
        "rect",
        x=x,
        y=shares.at(high),
        width=width,
        height=shares.at(low) - shares.at(high),
        fill=fill,
        fill_opacity=opacity,
        class_=name,
    )
