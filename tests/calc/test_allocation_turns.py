"""The policy `turns` against a second writing of its description, and the promises it makes."""

from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seedbank.calc.allocation import Frozen, Inputs, Line, Member, Options, problems, share
from tests.calc.allocation_cases import by_the_book, exchanges, frozen_from
from tests.calc.next_run import top_up

MANY = settings(max_examples=600, deadline=None)
SOME = settings(max_examples=250, deadline=None)


def got(inputs: Inputs) -> list[tuple[str, str, int, int, bool]]:
    return sorted(
        (p.member, p.line, p.position, p.turn, p.was_frozen)
        for p in share(inputs).packets
        if p.position
    )


@MANY
@given(exchanges())
def test_the_engine_takes_the_turns_that_the_description_takes(inputs):
    taken, closing = by_the_book(inputs)
    assert got(inputs) == sorted(
        (t.member, t.line, t.position, t.turn, t.was_frozen) for t in taken
    )
    assert share(inputs).closing_turns == closing


@MANY
@given(exchanges(), st.data())
def test_what_is_packed_is_counted_where_the_list_reaches_it(inputs, data):
    packets = [(p.member, p.line) for p in share(inputs).packets]
    kept = data.draw(st.lists(st.sampled_from(packets), unique=True) if packets else st.just([]))
    again = replace(inputs, frozen=frozen_from(kept), plentiful=share(inputs).plentiful)
    taken, _closing = by_the_book(again)
    assert got(again) == sorted((t.member, t.line, t.position, t.turn, t.was_frozen) for t in taken)


@MANY
@given(exchanges())
def test_the_checker_that_knows_only_the_rules_finds_no_fault(inputs):
    assert problems(inputs, share(inputs)) == ()


@SOME
@given(exchanges())
def test_no_rule_is_broken(inputs):
    packets = Counter((p.member, p.line) for p in share(inputs).packets)
    barred = {(bar.member, bar.line) for bar in inputs.bars}
    for line in inputs.lines:
        assert sum(n for (_member, of), n in packets.items() if of == line.number) <= line.stock
        assert all(n <= line.copies for (_member, of), n in packets.items() if of == line.number)
    for member in inputs.members:
        mine = {of: n for (number, of), n in packets.items() if number == member.number}
        assert sum(mine.values()) <= member.allowance
        assert set(mine) <= set(member.main) | set(member.reserve)
    assert not barred & set(packets)


@SOME
@given(exchanges(with_households=False), st.data())
def test_a_packet_more_hurts_nobody_when_the_first_runs_snapshot_is_kept(inputs, data):
    before = share(inputs)
    line = data.draw(st.sampled_from(inputs.lines))
    more = replace(
        inputs,
        lines=tuple(replace(each, stock=each.stock + (each == line)) for each in inputs.lines),
        plentiful=before.plentiful,
    )
    _nobody_is_worse_off(inputs, before, share(more), inputs.members)


@SOME
@given(exchanges(with_households=False), st.data())
def test_a_member_fewer_hurts_nobody_else(inputs, data):
    before = share(inputs)
    gone = data.draw(st.sampled_from(inputs.members))
    rest = tuple(member for member in inputs.members if member != gone)
    fewer = replace(
        inputs,
        members=rest,
        order=tuple(number for number in inputs.order if number != gone.number),
        bars=tuple(bar for bar in inputs.bars if bar.member != gone.number),
        plentiful=before.plentiful,
    )
    _nobody_is_worse_off(inputs, before, share(fewer), rest)


def _nobody_is_worse_off(inputs, before, after, members):
    """Of her first k wishes, for every k, each member has at least as many as before."""
    for member in members:
        had = sorted(p.position for p in before.packets if p.member == member.number)
        has = sorted(p.position for p in after.packets if p.member == member.number)
        for k in range(1, len(member.main) + len(member.reserve) + 1):
            assert sum(at <= k for at in has) >= sum(at <= k for at in had), (inputs, member)


@SOME
@given(exchanges(), st.data())
def test_freezing_any_of_the_result_and_running_again_changes_nothing(inputs, data):
    result = share(inputs)
    packets = [(p.member, p.line) for p in result.packets]
    kept = data.draw(st.lists(st.sampled_from(packets), unique=True) if packets else st.just([]))
    again = share(replace(inputs, frozen=frozen_from(kept), plentiful=result.plentiful))
    assert Counter((p.member, p.line) for p in again.packets) == Counter(packets)


@SOME
@given(exchanges(), st.data())
def test_a_top_up_only_adds(inputs, data):
    result = share(inputs)
    line = data.draw(st.sampled_from(inputs.lines)).number
    after = share(top_up(inputs, result, added={line: 2}))
    had = Counter((p.member, p.line) for p in result.packets)
    has = Counter((p.member, p.line) for p in after.packets)
    assert not had - has
    assert all(of == line for _member, of in has - had)


def test_the_last_packet_goes_by_the_draw_and_the_second_pass_runs_backwards():
    members = tuple(Member(number, 1, 3, main=("1", "2", "3")) for number in ("a", "b", "c"))
    inputs = Inputs(
        event="e",
        policy="turns",
        members=members,
        lines=(Line("1", 1), Line("2", 1), Line("3", 1)),
        order=("b", "a", "c"),
        options=Options(plentiful_free=False),
    )
    # First pass b, a, c: b takes 1, a reads past it to 2, c to 3. There is nothing for the second.
    assert [(p.member, p.line, p.turn) for p in share(inputs).packets] == [
        ("b", "1", 1),
        ("a", "2", 2),
        ("c", "3", 3),
    ]


def test_a_donor_chooses_first_in_each_pass():
    inputs = Inputs(
        event="e",
        policy="turns",
        members=(Member("donor", 0, 2, main=("1", "2")), Member("other", 1, 2, main=("1", "2"))),
        lines=(Line("1", 1), Line("2", 1)),
        order=("other", "donor"),
    )
    assert {(p.member, p.line) for p in share(inputs).packets} == {("donor", "1"), ("other", "2")}


def test_a_plentiful_line_costs_no_turn_and_so_need_not_be_ranked_last():
    wishes = {"honest": ("plenty", "rare"), "sly": ("rare", "plenty")}
    inputs = Inputs(
        event="e",
        policy="turns",
        members=tuple(Member(number, 1, 2, main=main) for number, main in wishes.items()),
        lines=(Line("plenty", 2), Line("rare", 1)),
        order=("honest", "sly"),
    )
    with_rule = {(p.member, p.line) for p in share(inputs).packets}
    assert ("honest", "rare") in with_rule
    without = replace(inputs, options=Options(plentiful_free=False))
    assert ("sly", "rare") in {(p.member, p.line) for p in share(without).packets}


def test_the_example_in_which_plain_turns_let_one_fall_two_behind_is_cured_by_the_plentiful_rule():
    """Section 3.4 of the published note on the policy; the wishes and the outcome are its own."""
    i, j = ("A1", "A2", "B1", "B2", "C1", "C2"), ("B1", "B2", "A1", "A2")
    inputs = Inputs(
        event="e",
        policy="turns",
        members=(Member("i", 1, 6, main=i), Member("j", 1, 6, main=j)),
        lines=tuple(Line(line, {"A": 2, "B": 1, "C": 1}[line[0]]) for line in i),
        order=("i", "j"),
        options=Options(plentiful_free=False),
    )
    plain = {m: {p.line for p in share(inputs).packets if p.member == m} for m in ("i", "j")}
    assert plain == {"i": {"A1", "A2", "C1", "C2"}, "j": {"B1", "B2", "A1", "A2"}}
    cured = share(replace(inputs, options=Options()))
    i_has = {p.line for p in cured.packets if p.member == "i"}
    assert {"A1", "A2"} < i_has
    assert i_has & {"B1", "B2"}


@pytest.mark.parametrize("head_start", [-1, -5])
def test_a_head_start_below_nothing_is_refused(head_start):
    inputs = Inputs(
        "e",
        "turns",
        (Member("a", 1, 1),),
        (Line("1", 1),),
        ("a",),
        options=Options(head_start=head_start),
    )
    with pytest.raises(ValueError, match="head start"):
        share(inputs)


def test_frozen_packets_in_no_list_count_against_the_allowance_first():
    inputs = Inputs(
        event="e",
        policy="turns",
        members=(Member("a", 1, 1, main=("1",)),),
        lines=(Line("1", 1), Line("2", 1)),
        order=("a",),
        frozen=(Frozen("a", "2"),),
    )
    assert {(p.line, p.was_frozen) for p in share(inputs).packets} == {("2", True)}
