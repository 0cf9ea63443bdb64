"""How long the indices of 10,000 sowings take at once and one at a time.

Run with ``python -m tests.bench.bench_germination``; it prints and writes nothing.
"""

import time
from collections.abc import Callable
from functools import partial

import numpy as np

from seedbank.calc.germination.counts import read_counts
from seedbank.calc.germination.indices import describe
from seedbank.calc.germination.many import describe_many

LOOKS = 15
SEEDS = 100


def make_sowings(sowings: int) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Invented sowings of 100 seeds looked at 15 times, the same on every run."""
    draw = np.random.default_rng(1877)
    shares = draw.dirichlet(np.ones(LOOKS + 1), size=sowings)
    counts = draw.multinomial(SEEDS, shares)[:, :LOOKS]
    days = np.cumsum(draw.integers(1, 8, size=(sowings, LOOKS)), axis=1)
    offsets = np.arange(0, (sowings + 1) * LOOKS, LOOKS)
    return np.full(sowings, SEEDS), offsets, days.ravel(), counts.ravel()


def seconds(work: Callable[[], object]) -> float:
    """Shortest of three runs."""
    runs = []
    for _ in range(3):
        start = time.perf_counter()
        work()
        runs.append(time.perf_counter() - start)
    return min(runs)


def main() -> None:
    """Print seconds for both ways, their ratio, and how the fast one grows."""
    before = 0.0
    for sowings in (40_000, 20_000, 10_000):
        sown, offsets, days, counts = make_sowings(sowings)
        at_once = seconds(partial(describe_many, sown, offsets, days, counts))
        growth = f", the row above is {before / at_once:.1f} times that" if before else ""
        print(f"{sowings:6} sowings of {LOOKS} counts at once: {at_once:.3f} s{growth}")
        before = at_once
    start = time.perf_counter()
    for row in range(len(sown)):
        looks = slice(offsets[row], offsets[row + 1])
        describe(read_counts(sown[row], days[looks], counts[looks]))
    one_by_one = time.perf_counter() - start
    ratio = one_by_one / at_once
    print(f"{len(sown):6} sowings one at a time: {one_by_one:.2f} s, {ratio:.0f} times as long")


if __name__ == "__main__":
    main()
