"""Charts as SVG drawn on the server, each with the same facts in words and as a table.

A chart carries a title and a description for screen readers, needs no colour to be understood
(marks, dashes and labels at the line), holds no style attribute that a strict content policy would
refuse, and prints as it shows. Classes are there for a page's own colours; without them the
presentation attributes hold.
"""

from crosses.formats.charts.bars import ShareBar, bars_with_intervals
from crosses.formats.charts.counts import CountBar, count_bars
from crosses.formats.charts.drawing import Chart
from crosses.formats.charts.forecast import DayChance, survival_bar
from crosses.formats.charts.germination import (
    GerminationSeries,
    GerminationStep,
    germination_curve,
)
from crosses.formats.charts.pedigree import PedigreeNode, pedigree_tree
from crosses.formats.charts.season import TimelineEvent, TimelineRow, season_timeline

__all__ = [
    "Chart",
    "CountBar",
    "DayChance",
    "GerminationSeries",
    "GerminationStep",
    "PedigreeNode",
    "ShareBar",
    "TimelineEvent",
    "TimelineRow",
    "bars_with_intervals",
    "count_bars",
    "germination_curve",
    "pedigree_tree",
    "season_timeline",
    "survival_bar",
]
