"""Time and memory of inbreeding and founder shares on invented pedigrees of growing size.

Run as ``python -m tests.bench.bench_pedigree [sizes ...]``; each measurement is a process of its
own, so that the memory shown is that of one size.

Three shapes. *Circles*: breeders who exchange plants within a circle of 10,000 plants; a larger
society has more circles, so the work there is to do grows in step with the plants. *Society*: breeders of some hundred plants a generation, each breeding from the few
it selected, one parent in twelve taken from another breeder, one in ten a newly bought or collected plant;
30 generations. *Closed*: a pool in which every plant of a generation is as likely as any other to
be a parent of the next, 25 generations; nobody breeds so, but it is the hardest case. In these two
the pairs that are related, and the founders each plant has, grow faster than the plants.
"""

import resource
import subprocess
import sys
import time

import numpy as np

from crosses.calc.pedigree.graph import Parentage, Pedigree
from crosses.calc.pedigree.kinship import inbreeding
from crosses.calc.pedigree.shares import composition_table, founder_share_table

SEED = 20260401
GENERATIONS = {"circles": 30, "society": 30, "closed": 25}
PLANTS_OF_A_CIRCLE = 10_000
PLANTS_OF_A_BREEDER = 100
SELECTED = 0.06
FROM_ANOTHER_BREEDER = 1 / 12
NEWLY_BOUGHT = 0.1
# A dictionary of kinships grows with the square of its pedigree; above this it is not waited for.
LARGEST_FOR_DICTIONARY = 10_000


def society(plants: int) -> list[Parentage]:
    """A pedigree of breeders who each select, and now and then exchange."""
    draw = np.random.default_rng(SEED)
    a_generation = plants // GENERATIONS["society"]
    breeders = max(1, a_generation // PLANTS_OF_A_BREEDER)
    stock = [list(range(b * 4, b * 4 + 4)) for b in range(breeders)]
    rows = [Parentage(number, taxon=f"taxon {number % 40}") for number in range(4 * breeders)]
    while len(rows) < plants:
        raised: list[list[int]] = [[] for _ in range(breeders)]
        for breeder in range(breeders):
            parents = stock[breeder]
            if draw.random() < NEWLY_BOUGHT * len(parents) / 2:
                parents.append(len(rows))
                rows.append(Parentage(len(rows), taxon=f"taxon {len(rows) % 40}"))
            if draw.random() < FROM_ANOTHER_BREEDER * len(parents) / 2:
                there = stock[int(draw.integers(breeders))]
                parents.append(there[int(draw.integers(len(there)))])
            picks = draw.integers(len(parents), size=(PLANTS_OF_A_BREEDER, 2))
            for seed, pollen in picks.tolist():
                raised[breeder].append(len(rows))
                rows.append(Parentage(len(rows), parents[seed], ((parents[pollen], 1),)))
        kept = max(4, round(PLANTS_OF_A_BREEDER * SELECTED))
        stock = [draw.choice(each, kept, replace=False).tolist() for each in raised]
    return rows[:plants]


def circles(plants: int) -> list[Parentage]:
    """As many societies as it takes, side by side and without exchange between them."""
    one = society(PLANTS_OF_A_CIRCLE)
    rows: list[Parentage] = []
    while len(rows) < plants:
        first = len(rows)
        rows += [
            Parentage(
                row.plant + first,
                None if row.seed_parent is None else row.seed_parent + first,
                tuple((pollen + first, share) for pollen, share in row.pollen),
                taxon=row.taxon,
            )
            for row in one
        ]
    return rows[:plants]


def closed(plants: int) -> list[Parentage]:
    """A pedigree of one pool that mates at random."""
    draw = np.random.default_rng(SEED)
    size = plants // GENERATIONS["closed"]
    rows = [Parentage(number, taxon=f"taxon {number % 40}") for number in range(size)]
    for number in range(size, plants):
        first = (number // size - 1) * size
        seed, pollen = draw.integers(first, first + size, 2).tolist()
        rows.append(Parentage(number, seed, ((pollen, 1),)))
    return rows


def with_a_dictionary(rows: list[Parentage]) -> list[float]:
    """The plain alternative: kinship of each pair of parents by a remembered descent."""
    parents = {
        row.plant: (row.seed_parent, row.pollen[0][0] if row.pollen else None) for row in rows
    }
    inbred: list[float] = []
    known: dict[tuple[int, int], float] = {}

    def pair(a: int | None, b: int | None) -> float:
        todo = [(a, b)]
        while todo:
            x, y = todo[-1]
            key = (x, y) if x >= y else (y, x)
            if key in known:
                todo.pop()
                continue
            old, young = key[1], key[0]
            seed, pollen = parents[young]
            if seed is None:
                known[key] = 0.5 if old == young else 0.0
                continue
            if old == young:
                known[key] = (1 + inbred[young]) / 2
                continue
            needed = [(seed, old), (pollen, old)]
            missing = [
                n for n in needed if ((n[0], n[1]) if n[0] >= n[1] else (n[1], n[0])) not in known
            ]
            if missing:
                todo.extend(missing)
                continue
            known[key] = sum(known[n if n[0] >= n[1] else (n[1], n[0])] for n in needed) / 2
        return known[(a, b) if a >= b else (b, a)]

    for row in rows:
        seed, pollen = parents[row.plant]
        inbred.append(0.0 if seed is None else pair(seed, pollen))
    return inbred


def measure(shape: str, plants: int) -> None:
    """Print one line for one size; processor seconds, which other work on the machine leaves be."""
    rows = {"circles": circles, "society": society, "closed": closed}[shape](plants)
    base = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    moments = [time.process_time()]
    pedigree = Pedigree.build(rows)
    moments.append(time.process_time())
    found = inbreeding(pedigree)
    moments.append(time.process_time())
    composition_table(pedigree)
    moments.append(time.process_time())
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    shares = founder_share_table(pedigree).shares.nnz if shape != "closed" else 0
    moments.append(time.process_time())
    after = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    build, inbred, taxa, founders = np.diff(moments)
    all_told = build + inbred + founders
    line = (
        f"{shape:8} {plants:>9,}  build {build:6.2f} s  inbreeding {inbred:6.2f} s  "
        f"taxa {taxa:6.2f} s  founder shares {founders:6.2f} s ({shares:,} of them)  "
        f"{1e6 * all_told / plants:.1f} microseconds a plant  "
        f"memory {peak:,.0f} MB, with founder shares {after:,.0f} MB (rows alone {base:,.0f})  "
        f"mean F {found.mean():.3f}"
    )
    if plants <= LARGEST_FOR_DICTIONARY:
        start = time.perf_counter()
        plain = with_a_dictionary(rows)
        line += f"  dictionary loop {time.perf_counter() - start:.2f} s"
        in_order = [found[pedigree.place(row.plant)] for row in rows]
        assert np.allclose(plain, in_order, atol=1e-12)
    print(line, flush=True)


def main(sizes: list[str] | None = None) -> None:
    """Measure each size and shape in a process of its own."""
    for size in sizes or ["10000", "100000", "1000000"]:
        for kind in GENERATIONS:
            if kind != "closed" or int(size) <= 100_000:
                command = [sys.executable, "-m", "tests.bench.bench_pedigree", kind, size]
                subprocess.run(command, check=True)


if __name__ == "__main__":
    if len(sys.argv) == 3 and sys.argv[1] in GENERATIONS:
        measure(sys.argv[1], int(sys.argv[2]))
    else:
        main(sys.argv[1:])
