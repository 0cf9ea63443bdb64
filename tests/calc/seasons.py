"""Invented seasons of capsules, splitting by laws the forecast does not assume."""

import math

import numpy as np

from crosses.calc.windows import Opening, Window, forecast, narrowed, posterior

WINDOW = Window(14, 28)
SEED = 20260401


def weibull(draw, median_days, count):
    """Shape 6: the early ones are spread wider than the late ones."""
    return median_days * draw.weibull(6, count) / math.log(2) ** (1 / 6)


def gamma(draw, median_days, count):
    return median_days * draw.gamma(40, 1 / 40, count)


def two_heaps(draw, median_days, count):
    """Half of the capsules early, half late, with few between, as of a truss that opened twice."""
    heap = draw.choice([0.82, 1.18], count)
    return median_days * heap * draw.gamma(150, 1 / 150, count)


LAWS = {"Weibull": weibull, "gamma": gamma, "two heaps": two_heaps}


def looked_at_daily(days):
    """What somebody sees who looks every day: closed on one day, split on the next."""
    return [Opening(math.ceil(day) - 1, math.ceil(day)) for day in days]


def is_inside(known, split_days):
    ahead = forecast(known, 0)
    return ahead.split_by_10_days < split_days <= ahead.split_by_90_days


def coverage(law, records, seasons):
    """Share of seasons whose next capsule splits inside the 80 % interval.

    Each season is one plant in one pair of hands, with a centre of its own from 15 to 27 days.
    """
    draw = np.random.default_rng(SEED)
    inside = 0
    for _ in range(seasons):
        *seen, next_one = LAWS[law](draw, draw.uniform(15, 27), records + 1).tolist()
        inside += is_inside(posterior(WINDOW, looked_at_daily(seen)), next_one)
    return inside / seasons


def coverage_below_other_levels(spreads, records, seasons):
    """As `coverage`, for one plant of a taxon of a genus, both with records of other plants.

    `spreads` are standard deviations of log days: between taxa, between plants, between capsules.
    """
    draw = np.random.default_rng(SEED)
    of_taxon, of_plant, of_capsule = spreads

    def plants(centre, number, capsules):
        own = centre + draw.normal(0, of_plant, (number, 1))
        return np.exp(own + draw.normal(0, of_capsule, (number, capsules))).ravel().tolist()

    inside = 0
    for _ in range(seasons):
        genus = math.log(20) + draw.normal(0, 0.1)
        others = [plants(genus + draw.normal(0, of_taxon), 3, 2) for _ in range(10)]
        taxon = genus + draw.normal(0, of_taxon)
        sisters = plants(taxon, 7, 3)
        *seen, next_one = plants(taxon, 1, records + 1)
        known = posterior(
            WINDOW, looked_at_daily([day for days in others for day in days]), "of the genus"
        )
        known = narrowed(known, looked_at_daily(sisters), "of the taxon")
        known = narrowed(known, looked_at_daily(seen), "of this seed parent")
        inside += is_inside(known, next_one)
    return inside / seasons
