"""What the records of a genus teach about one capsule: levels, seasons, and an outside reckoning."""

import math

import numpy as np
import pytest

from crosses.calc.windows import Opening, Place, Pool, Record, Window, forecast, pooled, posterior

BOOK = Window(14, 28)
SPREAD = math.log(2) / (2 * 1.2815515655446004)
HERE = Place("veris", "A", "A x B", 2026)
SEED = 20261201


def opened(day, place=HERE, own=None):
    return Record(place, Opening(day - 1, day), own)


def middle(pool, place=HERE, own=None):
    return forecast(pool.of(place, own), 0).split_by_50_days


def test_without_records_the_book_speaks():
    alone, book = Pool(BOOK, []).of(HERE), posterior(BOOK, [])
    assert alone.basis == book.basis
    assert forecast(alone, 0) == forecast(book, 0)


def test_each_record_is_named_at_its_narrowest_level():
    pool = Pool(
        BOOK,
        [
            opened(18),
            opened(18, Place("veris", "A", "A x C", 2025)),
            opened(18, Place("veris", "D", "D x B", 2025)),
            opened(18, Place("elatior", "E", "E x B", 2025)),
        ],
    )
    assert pool.of(HERE).basis == (
        "From 1 record of this cross (1 seen splitting), 1 record of this seed parent (1 seen"
        " splitting), 1 record of the taxon (1 seen splitting), 1 record of the genus (1 seen"
        " splitting) and the book's window of 14-28 days."
    )


def test_a_nearer_record_moves_the_forecast_more():
    far = [
        Place("elatior", "E", "E x B", 2020),
        Place("veris", "D", "D x B", 2020),
        Place("veris", "A", "A x C", 2020),
        Place("veris", "A", "A x B", 2020),
        HERE,
    ]
    days = [middle(Pool(BOOK, [opened(14, place)])) for place in far]
    assert days == sorted(days, reverse=True)
    assert days[0] < middle(Pool(BOOK, []))


def test_a_capsule_is_not_its_own_witness():
    others = [opened(day) for day in (18, 19, 20)]
    with_own = Pool(BOOK, [*others, opened(30, own=7)])
    assert middle(with_own, own=7) == pytest.approx(middle(Pool(BOOK, others)), rel=0.05)
    assert middle(with_own) > middle(with_own, own=7)


def test_capsules_still_closed_say_later():
    late = [Record(HERE, Opening(26, None)) for _capsule in range(3)]
    assert middle(Pool(BOOK, late)) > middle(Pool(BOOK, []))


def test_a_season_like_no_other_leaves_the_next_in_doubt():
    """Thirty capsules of one past season say less of the coming one than of their own."""
    past = [opened(18, Place("veris", "A", "A x B", 2025)) for _capsule in range(30)]
    width = {
        year: math.log(ahead.split_by_90_days / ahead.split_by_10_days)
        for year in (2025, 2026)
        for ahead in [forecast(Pool(BOOK, past).of(Place("veris", "A", "A x B", year)), 0)]
    }
    assert width[2026] > 1.1 * width[2025]


def test_the_reckoning_is_that_of_a_dense_normal_law(monkeypatch):
    """All effects and capsules written out as one normal vector, conditioned on what was seen."""
    genus, taxon, plant, cross, season, capsule = 0.16, 0.07, 0.09, 0.05, 0.1, 0.11
    for name, value in (
        ("TAXA", taxon),
        ("PLANTS", plant),
        ("CROSSES", cross),
        ("CAPSULES", capsule),
    ):
        monkeypatch.setattr(pooled, name, (value / SPREAD,))
    monkeypatch.setattr(pooled, "GENUS", genus / SPREAD)
    monkeypatch.setattr(pooled, "SEASONS", (season,))
    draw = np.random.default_rng(SEED)
    places = [
        Place(int(t), f"{t}{p}", f"{t}{p}{c}", int(y))
        for t, p, c, y in draw.integers(0, 3, (40, 4))
    ]
    days = np.exp(draw.normal(math.log(20), 0.2, 40)) * 100
    # Of days a hundred times as long a look a day apart is as good as the hour.
    window = Window(1400, 2800)
    records = [
        Record(place, Opening(day - 0.5, day + 0.5))
        for place, day in zip(places, days, strict=True)
    ]
    asked = Place(0, "00", "000", 9)
    law = [*places, asked]
    cov = np.full((41, 41), genus**2)
    for i, one in enumerate(law):
        for j, other in enumerate(law):
            cov[i, j] += taxon**2 * (one.taxon == other.taxon)
            cov[i, j] += plant**2 * (one.plant == other.plant)
            cov[i, j] += cross**2 * (one.cross == other.cross)
            cov[i, j] += season**2 * (one.season == other.season)
            cov[i, j] += capsule**2 * (i == j)
    centre = math.log(1400 * 2800) / 2
    solved = np.linalg.solve(cov[:40, :40], np.log(days) - centre)
    mean = centre + cov[40, :40] @ solved
    variance = cov[40, 40] - cov[40, :40] @ np.linalg.solve(cov[:40, :40], cov[:40, 40])
    ahead = forecast(Pool(window, records).of(asked), 0)
    reach = 1.2815515655446004 * math.sqrt(variance)
    assert ahead.split_by_50_days == pytest.approx(math.exp(mean), rel=1e-3)
    assert ahead.split_by_10_days == pytest.approx(math.exp(mean - reach), rel=2e-3)
    assert ahead.split_by_90_days == pytest.approx(math.exp(mean + reach), rel=2e-3)


def capsules_of(draw, season, cross, number):
    """Capsules of four invented years, and one of the year after, each with its place and day."""
    genus = math.log(14 * 28) / 2 + draw.normal(0, 0.17)
    taxa = genus + draw.normal(0, 0.08, 2)
    # Plants 0, 1 and 2 are of one taxon, 3 and 4 of another; each bears two crosses.
    plants = taxa[[0, 0, 0, 1, 1]] + draw.normal(0, 0.1, 5)
    crosses, years = draw.normal(0, cross, 10), draw.normal(0, season, 5)
    of, year = draw.integers(0, 10, number), draw.integers(0, 4, number)
    year[-1] = 4
    logs = plants[of // 2] + crosses[of] + years[year] + draw.normal(0, 0.12, number)
    places = [Place(int(c > 5), int(c // 2), int(c), int(y)) for c, y in zip(of, year, strict=True)]
    return list(zip(places, np.exp(logs).tolist(), strict=True))


def share_held(season, cross, records, seasons=120):
    """Share of invented seasons whose next capsule splits inside the 80 % interval."""
    draw = np.random.default_rng(SEED)
    held = 0
    for _season in range(seasons):
        *seen, (place, day) = capsules_of(draw, season, cross, records + 1)
        pool = Pool(BOOK, [opened(math.ceil(each), where) for where, each in seen])
        ahead = forecast(pool.of(place), 0)
        held += ahead.split_by_10_days < day <= ahead.split_by_90_days
    return held / seasons


@pytest.mark.parametrize(("season", "cross"), [(0.0, 0.0), (0.08, 0.0), (0.15, 0.0), (0.08, 0.08)])
def test_eight_of_ten_capsules_split_inside_whatever_the_seasons_do(season, cross):
    # 120 seasons: a share of 0.80 has a standard error of 0.037.
    assert 0.70 <= share_held(season, cross, 15) <= 0.90
