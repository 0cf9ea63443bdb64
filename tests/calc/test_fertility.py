"""How readily plants take: single plants, pairs, and the order of partners."""

import math

import numpy as np
import pytest
from hypothesis import given, settings, strategies
from scipy import optimize, stats
from scipy.special import expit

from crosses.calc.errors import BadInput
from crosses.calc.fertility import (
    Attempt,
    fit_pairs,
    none_took,
    rank_partners,
    role_rates,
    seeds_per_capsule,
)

# Capsules of flowers of the demo season, seed parents (all invented).
SEASON = {
    "Smoke": (5, 6), "Lemon": (6, 6), "Grey": (4, 8), "Rust": (1, 5), "bulleyana": (9, 10),
    "beesiana": (9, 10), "vulgaris": (11, 12), "elatior": (5, 8), "double": (0, 9),
}  # fmt: skip


def test_two_of_three_does_not_outdo_fourteen_of_sixteen():
    rates = role_rates({**SEASON, "lucky": (2, 3), "steady": (14, 16)})
    assert 2 / 3 < 14 / 16
    assert rates.of("lucky").estimate < rates.of("steady").estimate
    three_of_three = role_rates({**SEASON, "lucky": (3, 3), "steady": (15, 16)})
    assert three_of_three.of("lucky").estimate < three_of_three.of("steady").estimate


def rate_on_a_plain_grid(counts, taken, flowers):
    """The definition, by scipy's beta-binomial on midpoints of a plain grid: mean and interval."""
    mean, rho = np.meshgrid((np.arange(200) + 0.5) / 200, (np.arange(200) + 0.5) / 400)
    took = (1 / rho - 1) * mean
    failed = (1 / rho - 1) * (1 - mean)
    weight = np.exp(sum(stats.betabinom.logpmf(x, n, took, failed) for x, n in counts))
    weight /= weight.sum()
    law = stats.beta(took + taken, failed + flowers - taken)
    ends = [
        optimize.brentq(lambda p, q=q: (weight * law.cdf(p)).sum() - q, 0, 1) for q in (0.1, 0.9)
    ]
    return (weight * law.mean()).sum(), *ends


@pytest.mark.parametrize("plant", ["Smoke", "double", "never tried"])
def test_a_rate_is_that_of_the_plain_definition(plant):
    found = role_rates(SEASON).of(plant)
    expected = rate_on_a_plain_grid(SEASON.values(), *SEASON.get(plant, (0, 0)))
    assert (found.estimate, found.low, found.high) == pytest.approx(expected, abs=0.002)


def test_a_plant_never_tried_is_expected_to_be_a_usual_one_with_wide_doubt():
    rates = role_rates(SEASON)
    new, tried = rates.of("new"), rates.of("bulleyana")
    assert 0.4 < new.estimate < 0.8
    assert new.high - new.low > tried.high - tried.low
    assert "never tried in this role" in new.sentence
    assert "9 of 10 flowers took" in tried.sentence


@pytest.mark.parametrize(
    "counts",
    [{}, {"a": (0, 5), "b": (0, 7)}, {"a": (5, 5), "b": (7, 7)}, {"a": (2, 4), "b": (2, 4)}],
)
def test_there_is_an_answer_when_nothing_took_all_took_or_nobody_differs(counts):
    rate = role_rates(counts).of("a")
    assert 0 <= rate.low < rate.estimate < rate.high <= 1
    assert rate.high - rate.low > 0.05


counts_of_plants = strategies.lists(
    strategies.integers(0, 12).flatmap(
        lambda n: strategies.tuples(strategies.integers(0, n), strategies.just(n))
    ),
    min_size=1,
    max_size=6,
)


@settings(max_examples=40, deadline=None)
@given(counts_of_plants)
def test_what_failed_here_took_there(counts):
    named = dict(enumerate(counts))
    turned = {plant: (n - x, n) for plant, (x, n) in named.items()}
    rate, opposite = role_rates(named).of(0), role_rates(turned).of(0)
    assert rate.estimate == pytest.approx(1 - opposite.estimate, abs=1e-6)
    assert rate.low == pytest.approx(1 - opposite.high, abs=1e-4)


def test_eight_of_ten_true_shares_lie_inside_the_interval():
    draw = np.random.default_rng(20260401)
    inside = of = 0
    for _ in range(25):
        mean = draw.uniform(0.2, 0.9)
        shares = draw.beta(6 * mean, 6 * (1 - mean), 12)
        flowers = draw.integers(3, 15, 12)
        taken = draw.binomial(flowers, shares)
        rates = role_rates({n: (int(taken[n]), int(flowers[n])) for n in range(12)})
        inside += sum(rates.of(n).low < shares[n] < rates.of(n).high for n in range(12))
        of += 12
    # 300 shares, in 25 societies: a standard error of about 0.025.
    assert 0.72 <= inside / of <= 0.88


def test_none_of_fifteen_is_not_sterile():
    """1 - 0.05 ** (1 / 15) = 0.181, the upper end that is passed once in twenty."""
    assert none_took(15) == "0 of 15: probably under 18 % (95 % upper, exact)."
    assert f"under {100 * (1 - 0.05 ** (1 / 9)):.0f} %" in none_took(9)


# Darwin, The Different Forms of Flowers on Plants of the Same Species (1877), Primula vulgaris.
def test_the_unions_of_1877_have_both_their_means():
    unlike = seeds_per_capsule([(11, 66.9), (7, 65.0)])
    like = seeds_per_capsule([(14, 52.2), (7, 18.8)])
    assert (round(unlike.by_capsule, 1), round(like.by_capsule, 1)) == (66.2, 41.1)
    assert like.by_cross == pytest.approx(35.5)
    assert unlike.by_cross == pytest.approx(65.95)
    assert (
        unlike.sentence == "66.2 seeds a capsule over 18 capsules; 66.0 as plain mean of 2 crosses."
    )


UNIONS_OF_1877 = [
    Attempt("long", "short", 12, 11, is_same_form=False),
    Attempt("short", "long", 8, 7, is_same_form=False),
    Attempt("long", "long 2", 21, 14, is_same_form=True),
    Attempt("short", "short 2", 18, 7, is_same_form=True),
]


def test_mode_is_that_of_a_general_optimiser():
    model = fit_pairs(UNIONS_OF_1877)
    seeds, pollens = ["long", "short"], ["short", "long", "long 2", "short 2"]

    def loss(w):
        total = w[0] ** 2 / 18 + (w[1:] ** 2).sum() / 2
        for a in UNIONS_OF_1877:
            logit = w[0] + w[1 + seeds.index(a.seed_parent)] + w[3 + pollens.index(a.pollen_parent)]
            total -= stats.binom.logpmf(a.taken, a.flowers, 1 / (1 + math.exp(-logit)))
        return total

    best = optimize.minimize(loss, np.zeros(7), tol=1e-10).x
    for a in UNIONS_OF_1877:
        logit = (
            best[0]
            + best[1 + seeds.index(a.seed_parent)]
            + best[3 + pollens.index(a.pollen_parent)]
        )
        found = model.chance(a.seed_parent, a.pollen_parent).chance
        assert found == pytest.approx(1 / (1 + math.exp(-logit)), abs=1e-4)


def test_thousands_of_flowers_speak_for_themselves():
    model = fit_pairs([Attempt("a", "b", 7640, 100), Attempt("a", "c", 9808, 9319)])
    assert model.chance("a", "b").chance == pytest.approx(100 / 7640, abs=0.001)
    assert model.chance("a", "c").chance == pytest.approx(9319 / 9808, abs=0.001)


def test_direction_makes_a_difference():
    model = fit_pairs(
        [Attempt("a", "b", 10, 9), Attempt("b", "a", 10, 1), Attempt("c", "d", 10, 5)]
    )
    assert model.chance("a", "b").chance > 0.6
    assert model.chance("b", "a").chance < 0.4


def test_a_pair_never_made_borrows_from_both_parents():
    model = fit_pairs(
        [Attempt("good", "x", 20, 18), Attempt("y", "willing", 20, 18), Attempt("bad", "z", 20, 1)]
    )
    hoped, feared = model.chance("good", "willing"), model.chance("bad", "willing")
    assert hoped.chance > feared.chance
    assert "this very pair: never tried" in hoped.sentence
    strangers = model.chance("new", "newer")
    assert strangers.high - strangers.low > hoped.high - hoped.low


def test_same_form_is_told_apart_only_with_enough_flowers():
    few = fit_pairs(UNIONS_OF_1877)
    pair = ("new", "newer")
    assert (
        few.chance(*pair, is_same_form=True).chance == few.chance(*pair, is_same_form=False).chance
    )
    many = fit_pairs(
        [
            Attempt(f"s{n}", f"p{n}", 10, 3 if same else 9, is_same_form=same)
            for same in (True, False)
            for n in range(3)
        ]
    )
    assert (
        many.chance(*pair, is_same_form=True).chance < many.chance(*pair, is_same_form=False).chance
    )
    assert "style form" in many.chance(*pair, is_same_form=True).sentence


def test_ploidy_month_and_warmth_are_used_where_they_are_told_apart():
    attempts = [
        Attempt(f"s{n}", f"p{n}", 10, 9 - 8 * late, month=4 + late, is_equal_ploidy=not late,
                temperature_celsius=10.0 + 10 * late)
        for late in (0, 1) for n in range(3)
    ]  # fmt: skip
    model = fit_pairs(attempts)
    for early, late in (({"month": 4}, {"month": 5}), ({"is_equal_ploidy": True}, {"is_equal_ploidy": False}),
                        ({"temperature_celsius": 10.0}, {"temperature_celsius": 20.0})):  # fmt: skip
        assert model.chance("a", "b", **early).chance > model.chance("a", "b", **late).chance
    assert model.chance("a", "b", month=7).chance == model.chance("a", "b").chance


def test_without_any_attempt_every_pair_is_open():
    found = fit_pairs([]).chance("a", "b")
    assert (found.chance, found.tried.n) == (0.5, 0)
    assert found.low < 0.1
    assert found.high > 0.9


def test_all_failed_or_all_took_has_an_answer():
    assert 0 < fit_pairs([Attempt("a", "b", 50, 0)]).chance("a", "b").chance < 0.1
    assert 0.9 < fit_pairs([Attempt("a", "b", 50, 50)]).chance("a", "b").chance < 1


@settings(max_examples=40, deadline=None)
@given(strategies.lists(
    strategies.tuples(strategies.integers(0, 3), strategies.integers(0, 3), strategies.integers(1, 9), strategies.integers(0, 9)),
    min_size=1, max_size=8,
))  # fmt: skip
def test_one_more_flower_that_took_never_lowers_the_chance(rows):
    attempts = [Attempt(s, p, n, min(x, n)) for s, p, n, x in rows]
    pair = (attempts[0].seed_parent, attempts[0].pollen_parent)
    before = fit_pairs(attempts).chance(*pair).chance
    after = fit_pairs([*attempts, Attempt(*pair, 1, 1)]).chance(*pair).chance
    assert after >= before - 1e-9


def test_partners_stand_by_chance_and_relation_and_say_what_is_missing():
    model = fit_pairs(
        [Attempt("Smoke", "Lemon", 10, 8), Attempt("Smoke", "sister", 10, 8), Attempt("Rust", "double", 12, 0),
         Attempt("double", "Smoke", 8, 3), Attempt("Smoke", "Smoke", 10, 0)]
    )  # fmt: skip
    found = rank_partners(
        "Smoke",
        ["double", "sister", "Lemon", "Smoke", "new"],
        model,
        {"sister": 0.25, "Smoke": 0.5},
        as_seed_parent=True,
    )
    by_plant = {partner.plant: partner for partner in found}
    assert [p.plant for p in found].index("Lemon") < [p.plant for p in found].index("sister")
    assert found[-1].plant in {"Smoke", "double"}
    assert "Never made in either direction." in by_plant["new"].reasons
    assert by_plant["new"].is_never_made
    assert not by_plant["Lemon"].is_never_made
    assert "The other way round: 3 of 8 flowers took." in by_plant["double"].reasons
    assert "No known relation." in by_plant["Lemon"].reasons
    assert any("0.250" in reason for reason in by_plant["sister"].reasons)
    assert none_took(10) in by_plant["Smoke"].reasons


def test_a_plant_that_gives_pollen_is_ranked_by_the_other_as_seed_parent():
    model = fit_pairs([Attempt("a", "b", 20, 19), Attempt("b", "a", 20, 1)])
    (partner,) = rank_partners("b", ["a"], model, {}, as_seed_parent=False)
    assert (partner.tried.x, partner.tried.n) == (19, 20)


@pytest.mark.parametrize(
    "make",
    [
        lambda: role_rates({"a": (4, 3)}),
        lambda: role_rates({"a": (-1, 3)}),
        lambda: fit_pairs([Attempt("a", "b", 2, 3)]),
        lambda: none_took(0),
        lambda: seeds_per_capsule([]),
        lambda: seeds_per_capsule([(0, 12.0)]),
    ],
)
def test_what_cannot_be_is_refused(make):
    with pytest.raises(BadInput):
        make()


def a_society(parents: int, pairs: int, seed: int) -> list[Attempt]:
    """Invented flowers of parents that differ, some of them of known form, month and warmth."""
    chance = np.random.default_rng(seed)
    seeds, pollens = chance.integers(0, parents, pairs), chance.integers(0, parents, pairs)
    flowers = chance.integers(1, 8, pairs)
    logit = chance.normal(0, 1, parents)[seeds] + chance.normal(0, 1, parents)[pollens]
    taken = chance.binomial(flowers, expit(logit))
    return [
        Attempt(
            f"s{seed_parent}", f"p{pollen}", int(of), int(took),
            is_same_form=bool(number % 3), month=3 + number % 4, temperature_celsius=8.0 + number % 13,
        )
        for number, (seed_parent, pollen, of, took) in enumerate(
            zip(seeds, pollens, flowers, taken, strict=True)
        )
    ]  # fmt: skip


def test_intervals_are_those_of_the_full_table_that_is_never_made():
    """The inverse of the curvature as a dense table, by numpy, as the judge."""
    attempts = a_society(parents=40, pairs=160, seed=20)
    model = fit_pairs(attempts)
    covariance = np.linalg.inv(model.curvature.toarray())
    asked = [
        Attempt(one.seed_parent, two.pollen_parent, 0, 0)
        for one in attempts[:9]
        for two in attempts[:9]
    ]
    for pair, told in zip(asked, model.chances(asked), strict=True):
        value = np.zeros(len(model.terms))
        value[
            [
                model.terms[term]
                for term in (
                    ("usual", ""),
                    ("seed", pair.seed_parent),
                    ("pollen", pair.pollen_parent),
                )
            ]
        ] = 1
        logit, reach = (
            value @ model.weights,
            1.2815515655446004 * math.sqrt(value @ covariance @ value),
        )
        expected = [expit(logit - reach), expit(logit), expit(logit + reach)]
        assert [told.low, told.chance, told.high] == pytest.approx(expected, abs=1e-6)


def test_the_weights_are_the_summit():
    """Where the slope is nought; scipy's own optimiser, begun elsewhere, climbs no higher."""
    attempts = a_society(parents=12, pairs=60, seed=21)
    model = fit_pairs(attempts)
    rows = np.zeros((len(attempts), len(model.terms)))
    mean = np.mean([one.temperature_celsius for one in attempts])
    for row, one in zip(rows, attempts, strict=True):
        told = {
            ("usual", ""): 1.0, ("seed", one.seed_parent): 1.0, ("pollen", one.pollen_parent): 1.0,
            ("style form", ""): 0.5 if one.is_same_form else -0.5, ("month", one.month): 1.0,
            ("warmth", ""): (one.temperature_celsius - mean) / 10,
        }  # fmt: skip
        for term, value in told.items():
            if term in model.terms:
                row[model.terms[term]] = value
    flowers, taken = (
        np.array([getattr(one, name) for one in attempts]) for name in ("flowers", "taken")
    )
    held = np.ones(len(model.terms))
    held[0] = 1 / 9

    def depth(weights):
        logit = rows @ weights
        return flowers @ np.logaddexp(0, logit) - taken @ logit + held @ weights**2 / 2

    found = optimize.minimize(depth, np.full(len(held), 0.3), method="BFGS", options={"gtol": 1e-8})
    assert model.weights == pytest.approx(found.x, abs=1e-4)


def test_twenty_thousand_parents_need_no_table_of_their_square():
    """A table of 20,000 by 20,000 numbers would be 3.2 GB; what is kept is a few numbers a parent."""
    model = fit_pairs(a_society(parents=10_000, pairs=20_000, seed=22))
    assert model.curvature.nnz < 20 * len(model.terms)
    assert 0 < model.chance("s1", "p1").low < 1
