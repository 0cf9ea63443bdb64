"""How often the 80 % interval holds the day of splitting where seasons and crosses differ.

Run as ``python -m tests.bench.bench_forecast_seasons``. Its width is told as a ratio to that of
somebody who knows beforehand how much taxa, plants, crosses, seasons and capsules differ.
"""

import math
from unittest.mock import patch

import numpy as np

from crosses.calc.windows import Pool, forecast, pooled
from tests.calc.test_forecast_pool import BOOK, SEED, SPREAD, capsules_of, opened

SEASONS = 400
RECORDS = (0, 3, 15, 30)
EFFECTS = ((0.0, 0.0), (0.08, 0.0), (0.15, 0.0), (0.08, 0.08), (0.15, 0.1))
GENUS, TAXON, PLANT, CAPSULE = 0.17, 0.08, 0.1, 0.12


def width(ahead):
    return math.log(ahead.split_by_90_days / ahead.split_by_10_days)


def tried(season, cross, records):
    """Share of capsules held, and the mean ratio of the interval's width to the ideal one's."""
    draw = np.random.default_rng(SEED)
    truth = {
        "GENUS": GENUS / SPREAD,
        "TAXA": (TAXON / SPREAD,),
        "PLANTS": (PLANT / SPREAD,),
        "CROSSES": (max(cross, 1e-4) / SPREAD,),
        "SEASONS": (max(season, 1e-4),),
        "CAPSULES": (CAPSULE / SPREAD,),
    }
    plain = 2 * 1.2815515655446004 * math.hypot(GENUS, TAXON, PLANT, CAPSULE, season, cross)
    held, ratios = 0, []
    for _season in range(SEASONS):
        *seen, (place, day) = capsules_of(draw, season, cross, records + 1)
        known = [opened(math.ceil(each), where) for where, each in seen]
        ahead = forecast(Pool(BOOK, known).of(place), 0)
        held += ahead.split_by_10_days < day <= ahead.split_by_90_days
        with patch.multiple(pooled, **truth):
            ideal = width(forecast(Pool(BOOK, known).of(place), 0)) if known else plain
        ratios.append(width(ahead) / ideal)
    return held / SEASONS, float(np.mean(ratios))


def main() -> None:
    for season, cross in EFFECTS:
        found = [tried(season, cross, records) for records in RECORDS]
        told = "  ".join(f"{share:.3f} ({ratio:.2f} as wide)" for share, ratio in found)
        print(f"season {season:.2f}, cross {cross:.2f}, records {RECORDS}: {told}", flush=True)


if __name__ == "__main__":
    main()
