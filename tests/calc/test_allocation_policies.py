"""The two other policies: `straight` against a plain loop, `even` against a general flow solver."""

import math
from collections import Counter
from dataclasses import replace

import networkx
import pytest
from hypothesis import given, settings

from seedbank.calc.allocation import Inputs, Line, Member, Options, problems, share
from tests.calc.allocation_cases import exchanges

SOME = settings(max_examples=200, deadline=None)


def _plain(inputs):
    """Return an exchange without donors' tiers, households and frozen packets."""
    return replace(inputs, options=Options())


@SOME
@given(exchanges(with_households=False))
def test_straight_lets_one_member_after_the_other_take_the_whole_list(inputs):
    inputs = replace(_plain(inputs), policy="straight")
    barred = {(bar.member, bar.line) for bar in inputs.bars}
    left = {line.number: line.stock for line in inputs.lines}
    copies = {line.number: line.copies for line in inputs.lines}
    expected: Counter[tuple[str, str]] = Counter()
    by_number = {member.number: member for member in inputs.members}
    for number in sorted(inputs.order, key=lambda n: (by_number[n].tier, inputs.order.index(n))):
        member = by_number[number]
        has = 0
        for line in (*member.main, *member.reserve):
            may = (number, line) not in barred and expected[number, line] < copies[line]
            if may and left[line] and has < member.allowance:
                left[line] -= 1
                has += 1
                expected[number, line] += 1
    result = share(inputs)
    assert Counter((p.member, p.line) for p in result.packets) == expected
    assert problems(inputs, result) == ()


def _cost(inputs, packets) -> int:
    """Return what the policy `even` makes as small as can be: unevenness first, then ranks."""
    allowances = [member.allowance for member in inputs.members if member.allowance]
    whole = math.lcm(*allowances) if allowances else 1
    of = Counter(packet.member for packet in packets)
    uneven = sum(
        (2 * k - 1) * (whole // member.allowance) * 1000
        for member in inputs.members
        for k in range(1, of[member.number] + 1)
    )
    return uneven + sum(packet.position - 1 for packet in packets)


def _by_a_general_solver(inputs) -> tuple[int, int]:
    """Return the most packets that can go out, and the least `_cost` of so many."""
    allowances = [member.allowance for member in inputs.members]
    whole = math.lcm(*allowances)
    barred = {(bar.member, bar.line) for bar in inputs.bars}
    flow = networkx.MultiDiGraph()
    flow.add_node("source")
    flow.add_node("sink")
    for member in inputs.members:
        for k in range(1, member.allowance + 1):
            weight = (2 * k - 1) * (whole // member.allowance) * 1000
            flow.add_edge("source", ("member", member.number), capacity=1, weight=weight)
        seen = set()
        for position, line in enumerate((*member.main, *member.reserve)):
            if line in seen or (member.number, line) in barred:
                continue
            seen.add(line)
            flow.add_edge(("member", member.number), ("line", line), capacity=1, weight=position)
    for line in inputs.lines:
        flow.add_edge(("line", line.number), "sink", capacity=line.stock, weight=0)
    # The general solver takes no parallel edges, so each slot gets a node of its own.
    simple = networkx.DiGraph()
    for at, (start, end, facts) in enumerate(flow.edges(data=True)):
        simple.add_edge(start, ("slot", at), capacity=facts["capacity"], weight=facts["weight"])
        simple.add_edge(("slot", at), end, capacity=facts["capacity"], weight=0)
    simple.add_nodes_from(["source", "sink"])
    best = networkx.max_flow_min_cost(simple, "source", "sink")
    return sum(best["source"].values()), networkx.cost_of_flow(simple, best)


@SOME
@given(exchanges(with_households=False))
def test_even_gives_the_most_packets_at_the_least_unevenness_that_a_general_solver_finds(inputs):
    inputs = replace(
        _plain(inputs),
        policy="even",
        lines=tuple(replace(line, copies=1) for line in inputs.lines),
        members=tuple(replace(m, allowance=max(1, m.allowance)) for m in inputs.members),
    )
    result = share(inputs)
    assert (len(result.packets), _cost(inputs, result.packets)) == _by_a_general_solver(inputs)
    assert problems(inputs, result) == ()


@pytest.mark.parametrize("mixing", [0, 21, 38])
def test_under_even_no_draw_outweighs_a_rank_however_many_packets_go_out(mixing):
    """Where many packets could change hands, their draws together must not come to a rank."""
    members = tuple(
        Member(
            f"{at:02d}",
            tier=1,
            allowance=6,
            main=tuple(
                dict.fromkeys(
                    str(
                        (at * at * (3 + mixing) + wish * wish * (5 + mixing) + at * wish * 7 + wish)
                        % 16
                    )
                    for wish in range(9)
                )
            ),
        )
        for at in range(24)
    )
    inputs = Inputs(
        event="even",
        policy="even",
        members=members,
        lines=tuple(Line(str(line), 2 + line % 4) for line in range(16)),
        order=tuple(member.number for member in members),
        draw_seed=bytes([mixing]) * 32,
    )
    result = share(inputs)
    assert (len(result.packets), _cost(inputs, result.packets)) == _by_a_general_solver(inputs)
    assert problems(inputs, result) == ()
