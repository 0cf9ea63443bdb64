"""How often the 80 % interval of the forecast holds the day of splitting, on invented seasons.

Run as ``python -m tests.bench.bench_forecast_coverage``. The laws of the seasons are not the
forecast's own. With 1,000 seasons the standard error of a share is 0.013.
"""

import time

from crosses.calc.windows import Opening, Window, forecast, posterior
from tests.calc.seasons import LAWS, coverage, coverage_below_other_levels

SEASONS = 1000
# What an 80 % interval may hold of seasons whose law it does not know, and still be called one.
FEWEST_HELD, MOST_HELD = 0.75, 0.92
RECORDS = (0, 3, 30, 300)
SPREADS = {
    "all levels differ alike": (0.1, 0.1, 0.1),
    "mostly taxa differ": (0.15, 0.05, 0.05),
    "mostly plants differ": (0.05, 0.15, 0.08),
    "mostly capsules differ": (0.03, 0.03, 0.12),
}


def time_of_a_page() -> float:
    """Seconds for 200 open capsules of 40 seed parents, each with its own records."""
    start = time.perf_counter()
    for parent in range(40):
        seen = [Opening(17 + parent % 3, 18 + parent % 3), Opening(19, 20), Opening(15, 16)]
        known = posterior(Window(14, 28), seen)
        for age in range(5):
            forecast(known, 5 + age)
    return time.perf_counter() - start


def main() -> None:
    for law in LAWS:
        found = [coverage(law, records, SEASONS) for records in RECORDS]
        print(f"{law:24} records {RECORDS}: {' '.join(f'{share:.3f}' for share in found)}")
        assert all(FEWEST_HELD <= share <= MOST_HELD for share in found), law
    for name, spreads in SPREADS.items():
        below = [coverage_below_other_levels(spreads, records, SEASONS) for records in (0, 3, 30)]
        print(f"{name:24} own records (0, 3, 30): {' '.join(f'{share:.3f}' for share in below)}")
    print(f"a page of 200 open capsules of 40 seed parents: {time_of_a_page():.2f} s")


if __name__ == "__main__":
    main()
