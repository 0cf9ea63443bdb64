"""What every chart is made of: the sheet, scales, marks and words.

The picture is built as a tree and written out by the XML library, so that no label can break out
of it.
"""

import re
import xml.etree.ElementTree as ET
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

from crosses.calc.errors import BadInput
from crosses.calc.rates import written_percent

INK = "#222222"
PALE = "#767676"
GRID = "#d9d9d9"
# Told apart by people who see colours differently (after Okabe and Ito, and Tol), each at least
# 3:1 against white; never the only difference between two series.
COLOURS = ("#0072b2", "#d55e00", "#117733", "#222222", "#aa3377", "#44679f")
DASHES = ("none", "7 3", "2 3", "9 3 2 3", "5 2 1 2 1 2", "12 4")
MARKS = ("circle", "square", "triangle", "diamond", "cross", "plus")

FONT_PIXELS = 12
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
DAY_STEPS = (1, 2, 7, 14, 28, 56, 84, 182, 364)
NOT_XML = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")


@dataclass(frozen=True, slots=True)
class Chart:
    """A picture, and the same in words: `summary` is a sentence, the table holds every figure."""

    svg: str
    summary: str
    table_header: tuple[str, ...]
    table_rows: tuple[tuple[str, ...], ...]


def sheet(key: str, title: str, description: str, *, width: int, height: int) -> ET.Element:
    """Start a picture. `key` begins its ids, and must be its own on a page with several."""
    if not re.fullmatch(r"[a-z][a-z0-9-]*", key):
        raise BadInput("The key of a chart is small letters, digits and hyphens.", field="key")
    picture = ET.Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": f"0 0 {width} {height}",
            "width": str(width),
            "height": str(height),
            "role": "img",
            "aria-labelledby": f"{key}-title {key}-desc",
            "class": "chart",
            "font-family": "sans-serif",
            "font-size": str(FONT_PIXELS),
        },
    )
    add(picture, "title", clean(title), id=f"{key}-title")
    add(picture, "desc", clean(description), id=f"{key}-desc")
    return picture


def written(picture: ET.Element) -> str:
    """Write the picture out, to stand in a page as it is."""
    return ET.tostring(picture, encoding="unicode")


def add(parent: ET.Element, tag: str, words: str = "", **attributes: float | str) -> ET.Element:
    """Add a part; `stroke_width` becomes stroke-width, and `class_` class."""
    child = ET.SubElement(parent, tag)
    for name, value in attributes.items():
        shown = f"{value:.2f}".rstrip("0").rstrip(".") if isinstance(value, float) else str(value)
        child.set(name.rstrip("_").replace("_", "-"), shown)
    if words:
        child.text = words
    return child


def write(
    parent: ET.Element, x: float, y: float, words: str, *, anchor: str = "start", ink: str = INK
) -> ET.Element:
    """Write words at a place; `anchor` is start, middle or end."""
    return add(
        parent, "text", clean(words), x=x, y=y, text_anchor=anchor, fill=ink, class_="chart-text"
    )


def line(
    parent: ET.Element, start: tuple[float, float], end: tuple[float, float], colour: str, name: str
) -> ET.Element:
    """Draw a straight line."""
    return add(
        parent,
        "line",
        x1=start[0],
        y1=start[1],
        x2=end[0],
        y2=end[1],
        stroke=colour,
        stroke_width=1,
        class_=name,
    )


def mark(parent: ET.Element, x: float, y: float, kind: str, colour: str) -> None:
    """Draw one of the marks, all of a size."""
    shapes: dict[str, Callable[[], str]] = {
        "square": lambda: f"M{x - 4:.2f} {y - 4:.2f}h8v8h-8z",
        "triangle": lambda: f"M{x:.2f} {y - 5:.2f}l5 9h-10z",
        "diamond": lambda: f"M{x:.2f} {y - 5:.2f}l5 5l-5 5l-5 -5z",
        "cross": lambda: f"M{x - 4:.2f} {y - 4:.2f}l8 8m0 -8l-8 8",
        "plus": lambda: f"M{x:.2f} {y - 5:.2f}v10m-5 -5h10",
    }
    if kind == "circle":
        add(parent, "circle", cx=x, cy=y, r=4, fill=colour, class_="chart-mark")
        return
    fill = "none" if kind in ("cross", "plus") else colour
    add(
        parent,
        "path",
        d=shapes[kind](),
        fill=fill,
        stroke=colour,
        stroke_width=2 if fill == "none" else 1,
        class_="chart-mark",
    )


def hatching(picture: ET.Element, key: str) -> str:
    """Define slanting lines for what is not known; the answer is what to fill with."""
    pattern = add(
        add(picture, "defs"),
        "pattern",
        id=f"{key}-unknown",
        width=6,
        height=6,
        patternUnits="userSpaceOnUse",
    )
    add(pattern, "path", d="M0 6L6 0", stroke=PALE, stroke_width=1, fill="none")
    return f"url(#{key}-unknown)"


@dataclass(frozen=True, slots=True)
class Scale:
    """From values to places along an axis."""

    low: float
    high: float
    start: float
    end: float

    def at(self, value: float) -> float:
        """Give the place of a value."""
        span = self.high - self.low
        return self.start + (value - self.low) / (span or 1) * (self.end - self.start)


def day_ticks(last_day: float, *, most: int = 9) -> list[int]:
    """Choose days to write under an axis that begins at 0: single days, then whole weeks."""
    step = next((step for step in DAY_STEPS if last_day / step <= most), DAY_STEPS[-1])
    return list(range(0, int(last_day) + 1, step))


def clean(words: str) -> str:
    """Drop what XML cannot hold."""
    return NOT_XML.sub("", words)


def shortened(words: str, most: int) -> str:
    """Cut words that are too long for their place; the table has them whole."""
    return words if len(words) <= most else f"{words[: most - 1].rstrip()}…"


def percent(share: float) -> str:
    """Write a share as whole percent."""
    return f"{written_percent(share)} %"


def interval(low: float, high: float) -> str:
    """Write the interval of a share as whole percent."""
    return f"{written_percent(low)} to {written_percent(high)} %"


def day_and_month(day: date) -> str:
    """Write a day without its year, the same in every language setting of the machine."""
    return f"{day.day} {MONTHS[day.month - 1]}"


def check_share(label: str, low: float, share: float, high: float) -> None:
    """Refuse a share outside its own interval, or outside 0 to 1."""
    if not 0 <= low <= share <= high <= 1:
        raise BadInput(f"The share of '{label}' does not lie in its interval.", field="shares")


def spread(places: Sequence[float], gap: float) -> list[float]:
    """Move places apart, downwards, until none is nearer to another than the gap."""
    moved = list(places)
    last = float("-inf")
    for index in sorted(range(len(places)), key=lambda index: places[index]):
        moved[index] = max(places[index], last + gap)
        last = moved[index]
    return moved
