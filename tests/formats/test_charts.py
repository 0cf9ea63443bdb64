"""Charts: well-formed, safe, readable without the picture, and true to their figures."""

import logging
import re
import xml.etree.ElementTree as ET
from datetime import date, timedelta

import pytest

from crosses.calc.errors import BadInput
from crosses.calc.rates import wilson
from crosses.formats.charts import (
    Chart,
    CountBar,
    DayChance,
    GerminationSeries,
    GerminationStep,
    PedigreeNode,
    ShareBar,
    TimelineEvent,
    TimelineRow,
    bars_with_intervals,
    count_bars,
    germination_curve,
    pedigree_tree,
    season_timeline,
    survival_bar,
)

SVG = "{http://www.w3.org/2000/svg}"
NASTY = '<script>alert("1")</script>&\x00'
TODAY = date(2026, 7, 10)


def a_step(day, seen, sown):
    share = wilson(seen, sown)
    return GerminationStep(day, seen / sown, share.low, share.high)


def a_series(label="Outdoors", curve=()):
    steps = (a_step(14, 5, 120), a_step(28, 70, 120), a_step(42, 70, 120), a_step(49, 78, 120))
    return GerminationSeries(label, 120, steps, curve)


def a_forecast(chances=(1, 0.9, 0.6, 0.5, 0.1), **changes):
    days = [
        DayChance(TODAY + timedelta(days=offset), chance) for offset, chance in enumerate(chances)
    ]
    values = {"look_daily_from": date(2026, 7, 11), "basis": "From 14 records."}
    return survival_bar("forecast", "When will it open?", days, **(values | changes))


def a_season(label="01"):
    events = (
        TimelineEvent(date(2026, 7, 22), "harvested"),
        TimelineEvent(date(2026, 4, 12), "pollinated"),
    )
    return season_timeline("season", "Season", [TimelineRow(label, events), TimelineRow("02", ())])


def a_pedigree(label="Smoke"):
    grey = PedigreeNode("Grey", PedigreeNode("elatior"), None)
    return pedigree_tree("tree", "Pedigree", PedigreeNode(label, PedigreeNode("Lemon"), grey))


def some_bars(label="Outdoors"):
    share = wilson(78, 120)
    bars = [ShareBar(label, 78, 120, share.low, share.high), ShareBar("fridge", 0, 0, 0, 1)]
    return bars_with_intervals("bars", "Rates", bars)


def every_chart(label="Smoke"):
    return [
        germination_curve("curve", label, [a_series(label, ((1, 0.0), (49, 0.6)))]),
        survival_bar("forecast", label, [DayChance(TODAY, 0.5)], look_daily_from=None, basis=label),
        a_season(label),
        a_pedigree(label),
        some_bars(label),
    ]


def parsed(chart: Chart) -> ET.Element:
    return ET.fromstring(chart.svg)  # noqa: S314 - our own writing, not a stranger's


def words_of(chart: Chart) -> list[str]:
    return [element.text for element in parsed(chart).iter(f"{SVG}text")]


def marks_of(chart: Chart, name: str) -> list[ET.Element]:
    return [part for part in parsed(chart).iter() if part.get("class") == name]


@pytest.mark.parametrize("chart", every_chart(), ids=lambda chart: chart.table_header[0])
def test_every_chart_has_a_role_a_title_and_a_description_by_their_ids(chart):
    picture = parsed(chart)
    title, description = picture.find(f"{SVG}title"), picture.find(f"{SVG}desc")
    assert picture.get("role") == "img"
    assert picture.get("aria-labelledby") == f"{title.get('id')} {description.get('id')}"
    assert title.text
    assert description.text == chart.summary


@pytest.mark.parametrize("chart", every_chart(), ids=lambda chart: chart.table_header[0])
def test_no_chart_holds_what_a_strict_content_policy_refuses(chart):
    for part in parsed(chart).iter():
        assert part.tag.removeprefix(SVG) not in {"style", "script", "image", "foreignObject", "a"}
        for name, value in part.attrib.items():
            assert name != "style"
            assert not name.startswith("on")
            assert "http" not in value


@pytest.mark.parametrize("chart", every_chart(NASTY), ids=lambda chart: chart.table_header[0])
def test_labels_cannot_break_out_of_the_picture(chart):
    picture = parsed(chart)
    assert not list(picture.iter(f"{SVG}script"))
    assert "<script" not in chart.svg
    assert "<script>" in "".join(picture.itertext())


@pytest.mark.parametrize("chart", every_chart(), ids=lambda chart: chart.table_header[0])
def test_every_row_of_the_table_fits_its_headings(chart):
    assert chart.table_rows
    assert {len(row) for row in chart.table_rows} == {len(chart.table_header)}


def test_the_table_of_a_germination_curve_is_its_looks():
    chart = germination_curve("curve", "Seeds up", [a_series()])
    assert [row[:3] + row[4:] for row in chart.table_rows] == [
        ("Outdoors", "14", "4 %", "120"),
        ("Outdoors", "28", "58 %", "120"),
        ("Outdoors", "42", "58 %", "120"),
        ("Outdoors", "49", "65 %", "120"),
    ]
    # 78 of 120 by the score interval: 56 to 73 %, as in the society's own notes.
    assert chart.summary == "Outdoors: 65 % of 120 seeds up by day 49 (56 to 73 %)."


def test_only_the_time_in_which_seeds_came_up_unseen_is_hatched():
    chart = germination_curve("curve", "Seeds up", [a_series()])
    assert len(marks_of(chart, "chart-unknown")) == 3
    assert len(marks_of(chart, "chart-band")) == 4
    assert len(marks_of(chart, "chart-curve")) == 0


def test_sowings_differ_by_dashes_and_marks_not_by_colour_alone():
    chart = germination_curve("curve", "Seeds up", [a_series("a"), a_series("b"), a_series("c")])
    lines = marks_of(chart, "chart-line")
    assert len({line.get("stroke-dasharray") for line in lines}) == 3
    shapes = {
        re.sub(r"[\d.]+ [\d.]+", "", part.get("d", "circle"), count=1)
        for part in marks_of(chart, "chart-mark")
    }
    assert len(shapes) == 3
    assert {"a", "b", "c"} <= set(words_of(chart))


def test_labels_of_equal_curves_do_not_lie_on_each_other():
    chart = germination_curve("curve", "Seeds up", [a_series("one"), a_series("two")])
    places = [
        float(part.get("y"))
        for part in parsed(chart).iter(f"{SVG}text")
        if part.text in ("one", "two")
    ]
    assert abs(places[0] - places[1]) >= 12


@pytest.mark.parametrize(
    ("series", "message"),
    [
        ([], "one to 6"),
        ([a_series(str(number)) for number in range(7)], "one to 6"),
        ([GerminationSeries("a", 10, ())], "never looked at"),
        ([GerminationSeries("a", 10, (a_step(9, 1, 10), a_step(2, 2, 10)))], "not in order"),
        ([GerminationSeries("a", 10, (GerminationStep(3, 0.9, 0.1, 0.5),))], "its interval"),
    ],
)
def test_a_curve_that_cannot_be_drawn_is_refused(series, message):
    with pytest.raises(BadInput, match=message):
        germination_curve("curve", "Seeds up", series)


def test_a_forecast_says_the_day_half_are_open_and_when_to_look():
    chart = a_forecast()
    assert chart.summary == (
        "Half of such capsules have opened by 13 Jul. Look daily from 11 Jul. From 14 records."
    )
    assert chart.table_rows[2] == ("2026-07-12", "60 %")
    assert len(marks_of(chart, "chart-fill")) == 5
    assert len(marks_of(chart, "chart-look")) == 4
    assert {"half open by 13 Jul", "look daily from 11 Jul"} <= set(words_of(chart))


def test_a_capsule_more_likely_closed_to_the_end_is_said_to_be():
    chart = a_forecast((1, 0.9, 0.8), look_daily_from=None)
    assert chart.summary.startswith("More likely than not still closed on 12 Jul.")
    assert marks_of(chart, "chart-look") == []


@pytest.mark.parametrize(
    ("chances", "message"), [((), "no day"), ((0.5, 0.6), "close again"), ((1.5, 0.2), "0 and 100")]
)
def test_a_forecast_that_cannot_be_is_refused(chances, message):
    with pytest.raises(BadInput, match=message):
        a_forecast(chances)


def test_a_forecast_with_a_day_left_out_is_refused():
    days = [DayChance(TODAY, 0.9), DayChance(TODAY + timedelta(days=2), 0.5)]
    with pytest.raises(BadInput, match="follow one another"):
        survival_bar("forecast", "x", days, look_daily_from=None, basis="")


def test_a_season_lists_its_events_in_order_and_explains_its_marks():
    chart = a_season()
    assert chart.table_rows == (
        ("01", "2026-04-12", "pollinated"),
        ("01", "2026-07-22", "harvested"),
    )
    assert {"pollinated", "harvested", "May", "Jul"} <= set(words_of(chart))
    assert chart.summary == "2 crosses, 2 events from 2026-04-12 to 2026-07-22."


def test_a_season_with_nothing_in_it_is_refused():
    with pytest.raises(BadInput, match="Nothing has happened"):
        season_timeline("season", "Season", [TimelineRow("01", ())])


def test_a_pedigree_names_each_place_seed_parent_first():
    chart = a_pedigree()
    assert chart.table_rows == (
        ("0", "the plant", "Smoke"),
        ("1", "seed parent", "Lemon"),
        ("1", "pollen parent", "Grey"),
        ("2", "seed parent of the pollen parent", "elatior"),
        ("2", "pollen parent of the pollen parent", "unknown"),
    )
    heights = {part.text: float(part.get("y")) for part in parsed(chart).iter(f"{SVG}text")}
    assert heights["Lemon"] < heights["Smoke"] < heights["Grey"]
    assert heights["elatior"] < heights["unknown"]


def test_a_tree_of_too_many_generations_is_refused_even_if_endless():
    plant = PedigreeNode("founder")
    for generation in range(3000):
        plant = PedigreeNode(str(generation), plant)
    with pytest.raises(BadInput, match="up to 6 generations"):
        pedigree_tree("tree", "Pedigree", plant)


def test_bars_say_share_interval_and_number_and_never_invent_a_rate():
    chart = some_bars()
    assert chart.table_rows == (
        ("Outdoors", "65 %", "56 to 73 %", "78 of 120"),
        ("fridge", "none tried", "0 to 100 %", "0 of 0"),
    )
    assert len(marks_of(chart, "chart-fill")) == 1
    assert "65 % (56 to 73 %), n = 120" in words_of(chart)


def test_long_labels_are_cut_in_the_picture_and_whole_in_the_table():
    label = "Primula vulgaris white by vulgaris blue, second sowing"
    chart = some_bars(label)
    assert chart.table_rows[0][0] == label
    assert any(words.endswith("…") for words in words_of(chart))


def test_a_key_that_could_not_be_an_id_is_refused():
    with pytest.raises(BadInput, match="key of a chart"):
        pedigree_tree('x" onload="', "Pedigree", PedigreeNode("Smoke"))


def test_the_print_engine_draws_every_chart_without_complaint(caplog):
    import weasyprint

    html = "".join(chart.svg for chart in every_chart())
    with caplog.at_level(logging.WARNING, logger="weasyprint"):
        pdf = weasyprint.HTML(string=f"<html lang='en'><title>x</title>{html}").write_pdf()
    assert pdf.startswith(b"%PDF")
    assert [record.getMessage() for record in caplog.records] == []


class TestCounts:
    def chart(self, *bars):
        return count_bars("choices", "Wishes met", [CountBar(*bar) for bar in bars])

    def test_a_bar_is_as_long_as_its_count_within_what_it_is_of(self):
        chart = self.chart(("first choice", 30, 40), ("second choice", 10, 20))
        rects = parsed(chart).iter(f"{SVG}rect")
        first, whole, second, half = (float(rect.get("width")) for rect in rects)
        assert first / whole == pytest.approx(0.75, abs=1e-3)
        assert second / half == pytest.approx(0.5, abs=1e-3)
        assert half / whole == pytest.approx(0.5, abs=1e-3)

    def test_the_words_and_the_table_hold_every_figure(self):
        chart = self.chart(("first choice", 30, 40), (NASTY, 0, 0))
        assert chart.summary.startswith("first choice: 30 of 40, 75 %.")
        assert chart.table_rows[0] == ("first choice", "30", "40", "75 %")
        assert "<script" not in chart.svg

    @pytest.mark.parametrize("bars", [[], [("a", 2, 1)], [("a", -1, 1)]])
    def test_what_cannot_be_is_refused(self, bars):
        with pytest.raises(BadInput):
            self.chart(*bars)

    def test_where_shares_are_compared_all_outlines_are_of_one_length(self):
        bars = [CountBar("first choice", 30, 40), CountBar("second choice", 10, 20)]
        chart = count_bars("choices", "Wishes met", bars, equally_long=True)
        rects = [float(rect.get("width")) for rect in parsed(chart).iter(f"{SVG}rect")]
        assert rects[1] == rects[3]
        assert rects[2] == pytest.approx(rects[3] / 2, abs=0.1)
