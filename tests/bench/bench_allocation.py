"""Time and quality of the sharing-out on generated exchanges of three sizes.

    python -m tests.bench.bench_allocation            small and middling
    python -m tests.bench.bench_allocation S M L      the large one too (30,000 members)

The same exchange is also given to a general solver (HiGHS, through scipy), which knows nothing of
turns: it says how many packets could go out at best, and how long it takes; the large one would
keep it for too long.
"""

import resource
import sys
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from typing import TypeVar

import numpy as np
from scipy.optimize import linprog
from scipy.sparse import coo_array

from seedbank.calc.allocation import (
    Inputs,
    Result,
    measure,
    reasons_document,
    share_by_turns,
    share_evenly,
    share_straight,
)
from tests.bench.instances import make_instance

# The quality a policy of this kind must reach on exchanges like these: packets against the most
# that can go out, first choices against the most that can be met, one of the first three choices.
FLOORS = {"S": (0.95, 0.96, 0.999), "M": (0.98, 0.96, 0.998), "L": (1.00, 0.95, 0.96)}
SOLVER_UP_TO = {"S", "M"}

Answer = TypeVar("Answer")


def timed(work: Callable[[], Answer]) -> tuple[Answer, float]:
    began = time.perf_counter()
    answer = work()
    return answer, time.perf_counter() - began


def most_packets(inputs: Inputs) -> int:
    """Return the most packets that can go out, by the general solver: a linear programme."""
    barred = {(bar.member, bar.line) for bar in inputs.bars}
    line_row = {line.number: row for row, line in enumerate(inputs.lines)}
    rows, columns = [], []
    wishes = 0
    for place, member in enumerate(inputs.members):
        for line in dict.fromkeys((*member.main, *member.reserve)):
            if (member.number, line) in barred:
                continue
            rows += [line_row[line], len(inputs.lines) + place]
            columns += [wishes, wishes]
            wishes += 1
    limits = [line.stock for line in inputs.lines] + [each.allowance for each in inputs.members]
    matrix = coo_array((np.ones(len(rows)), (rows, columns)), shape=(len(limits), wishes)).tocsr()
    solved = linprog(-np.ones(wishes), A_ub=matrix, b_ub=limits, bounds=(0, 1), method="highs")
    return round(-solved.fun)


def most_first_choices(inputs: Inputs) -> int:
    barred = {(bar.member, bar.line) for bar in inputs.bars}
    firsts = Counter(
        member.main[0]
        for member in inputs.members
        if member.main and (member.number, member.main[0]) not in barred
    )
    return sum(min(line.stock, firsts[line.number]) for line in inputs.lines)


def report_policy(inputs: Inputs, name: str, engine: Callable[[Inputs], Result]) -> Result:
    result, seconds = timed(lambda: engine(inputs))
    found = measure(inputs, result)
    print(
        f"  {name:9}{seconds:9.3f} s  {found.packets:7,} packets"
        f"  first {found.first_choices.met / found.first_choices.of:.3f}"
        f"  top 3 {found.top_three.met / found.top_three.of:.3f}"
        f"  filled {found.filled.met / found.filled.of:.3f}"
        f"  mean rank {found.mean_rank:.1f}"
        f"  worst {found.worst_served.met} of {found.worst_served.of}"
        f"  none {found.empty_handed}"
        f"  envy {found.envy.met}, beyond one {found.envy_beyond_one.met} of {found.envy.of:,}"
    )
    return result


def report_floors(size: str, inputs: Inputs, result: Result, most: int) -> bool:
    found = measure(inputs, result)
    packets, firsts, top_three = FLOORS[size]
    first_bound = most_first_choices(inputs)
    shown = [
        ("packets of the most possible", found.packets / most, packets),
        ("first choices of the most possible", found.first_choices.met / first_bound, firsts),
        ("one of the first three", found.top_three.met / found.top_three.of, top_three),
    ]
    for words, share, floor in shown:
        print(f"    {words}: {share:.4f} (floor {floor})")
    holds = all(round(share, 3) >= floor for _words, share, floor in shown)
    holds &= found.empty_handed == 0
    holds &= found.envy_beyond_one.met == 0
    print(f"    floors {'held' if holds else 'NOT held'}")
    return holds


def run_size(size: str) -> bool:
    inputs, seconds = timed(lambda: make_instance(size))
    wishes = sum(len(member.main) + len(member.reserve) for member in inputs.members)
    print(
        f"{size}: {len(inputs.members):,} members, {len(inputs.lines):,} lines, {wishes:,} wishes"
        f" (made in {seconds:.1f} s)"
    )
    by_turns = report_policy(inputs, "turns", share_by_turns)
    codes, seconds = timed(lambda: reasons_document(inputs, by_turns, with_sentences=False))
    print(f"    what became of each of {sum(map(len, codes.values())):,} wishes: {seconds:.3f} s")
    report_policy(replace(inputs, policy="straight"), "straight", share_straight)
    even = report_policy(replace(inputs, policy="even"), "even", share_evenly)
    if size in SOLVER_UP_TO:
        most_by_solver, seconds = timed(lambda: most_packets(inputs))
        print(f"  general solver, packets only: {seconds:.3f} s, {most_by_solver:,} packets")
    most = len(even.packets)
    holds = report_floors(size, inputs, by_turns, most)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"  peak memory of the process so far {peak:,.0f} MB")
    return holds


def main(sizes: list[str] | None = None) -> None:
    held = [run_size(size) for size in sizes or ["S", "M"]]
    print("all floors held" if all(held) else "some floors NOT held")


if __name__ == "__main__":
    main(sys.argv[1:])
