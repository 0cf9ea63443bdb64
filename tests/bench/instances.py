"""Made-up seed lists and wishes of a society's size, the same on every run.

A few lines are wanted by many (popularity 1 / (rank + 80 or 200)), members lean to some of twelve groups
of plants, lists are a third to five thirds of the usual length, four fifths of them main wishes;
stock runs from 2 to 40 packets, mostly low; 15 % are donors, 10 % live abroad, where 8 % of the
lines are barred.
"""

import numpy as np

from seedbank.calc import lottery
from seedbank.calc.allocation import Bar, Inputs, Line, Member

# Members, lines, usual length of a list, and how flat the popularity of lines is: so flat that the
# share of first choices that could be met at best is about 0.98, 0.95 and 0.79.
SIZES = {
    "S": (200, 400, 24, 80),
    "M": (2_000, 3_000, 40, 80),
    "L": (30_000, 10_000, 60, 200),
}
GROUPS = 12


def make_instance(size: str, seed: int = 1) -> Inputs:
    member_count, line_count, usual_length, flatness = SIZES[size]
    chance = np.random.default_rng(seed)
    line_numbers = [f"{line:05d}" for line in range(1, line_count + 1)]
    popularity = np.log(1 / (np.arange(line_count) + flatness))
    group = chance.integers(0, GROUPS, line_count)
    stock = 2 + np.floor(38.99 * chance.random(line_count) ** 2.07).astype(int)
    barred = chance.random(line_count) < 0.08
    members, bars = [], []
    for place in range(1, member_count + 1):
        number = f"{place:05d}"
        leaning = np.where(
            np.isin(np.arange(GROUPS), chance.choice(GROUPS, 3, replace=False)), 2.5, 0.0
        )
        liking = popularity + leaning[group] + chance.gumbel(size=line_count)
        length = int(chance.integers(usual_length // 3, usual_length * 5 // 3 + 1))
        best = np.argpartition(-liking, length)[:length]
        wishes = [line_numbers[line] for line in best[np.argsort(-liking[best])]]
        firsts = round(length * 0.8)
        is_donor = chance.random() < 0.15
        members.append(
            Member(
                number,
                tier=0 if is_donor else 1,
                allowance=30 if is_donor else 20,
                main=tuple(wishes[:firsts]),
                reserve=tuple(wishes[firsts:]),
            )
        )
        if chance.random() < 0.10:
            bars += [Bar(number, wish, "import rule") for wish in wishes if barred[int(wish) - 1]]
    lines = tuple(
        Line(number, int(packets)) for number, packets in zip(line_numbers, stock, strict=True)
    )
    draw = lottery.order(
        lottery.seed(f"bench {size}", bytes(32), "public"), [m.number for m in members]
    )
    return Inputs(f"bench {size}", "turns", tuple(members), lines, draw, bars=tuple(bars))
