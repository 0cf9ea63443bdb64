"""What a keeper meets after the run: late donations, mouldy packets, cancellations, households."""

import json
from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from crosses.calc.errors import BadInput
from seedbank.calc import lottery
from seedbank.calc.allocation import (
    Bar,
    Frozen,
    Inputs,
    Line,
    Member,
    Options,
    problems,
    read_inputs,
    share,
    share_by_turns,
    share_evenly,
)
from tests.calc.allocation_cases import exchanges
from tests.calc.next_run import after_loss, packets_to_take_back, replay, top_up, without_member

SOME = settings(max_examples=200, deadline=None)


def exchange(*members: Member, stock: dict[str, int], **more) -> Inputs:
    return Inputs(
        event="exchange-2027",
        policy="turns",
        members=members,
        lines=tuple(Line(number, packets) for number, packets in stock.items()),
        order=tuple(member.number for member in members),
        **more,
    )


def pairs(result) -> set[tuple[str, str]]:
    return {(packet.member, packet.line) for packet in result.packets}


def test_a_late_donation_before_the_announcement_hurts_nobody_and_keeps_the_snapshot():
    inputs = exchange(
        Member("a", 1, 2, main=("1", "2")),
        Member("b", 1, 2, main=("1", "2")),
        stock={"1": 1, "2": 2},
    )
    first = share(inputs)
    assert first.plentiful == ("2",)
    again = replay(inputs, first, added={"1": 1})
    assert again.plentiful == ("2",)
    assert pairs(first) < pairs(share(again)) == {("a", "1"), ("a", "2"), ("b", "1"), ("b", "2")}


def test_a_late_donation_of_a_line_nobody_could_list_is_sent_to_the_surplus_round():
    inputs = exchange(Member("a", 1, 2, main=("1",)), stock={"1": 1})
    with pytest.raises(BadInput, match="surplus round"):
        replay(inputs, share(inputs), added={"2": 4})


def test_after_the_announcement_a_late_donation_goes_to_the_next_in_turn_and_nobody_gives_back():
    inputs = exchange(
        Member("a", 1, 1, main=("1", "2")),
        Member("b", 1, 2, main=("1", "2")),
        Member("c", 1, 2, main=("1",)),
        stock={"1": 1, "2": 1},
    )
    first = share(inputs)
    assert pairs(first) == {("a", "1"), ("b", "2")}
    after = share(top_up(inputs, first, added={"1": 1}))
    assert pairs(after) == {("a", "1"), ("b", "2"), ("b", "1")}


def test_a_withdrawn_line_costs_nobody_a_turn():
    members = (Member("a", 1, 1, main=("1", "2")), Member("b", 1, 1, main=("2",)))
    inputs = exchange(*members, stock={"1": 0, "2": 1})
    inputs = replace(inputs, lines=(Line("1", 0, withdrawn=True), Line("2", 1)))
    assert [(p.member, p.line, p.turn) for p in share(inputs).packets] == [("a", "2", 1)]


def test_a_withdrawn_line_with_packets_to_share_out_is_a_contradiction():
    inputs = replace(
        exchange(Member("a", 1, 1, main=("1",)), stock={"1": 1}),
        lines=(Line("1", 1, withdrawn=True),),
    )
    with pytest.raises(BadInput, match="Line 1 is withdrawn"):
        share(inputs)


MOULD = exchange(
    Member("a", 1, 2, main=("1", "4")),
    Member("b", 1, 1, main=("1", "3")),
    Member("c", 1, 1, main=("1", "2", "3")),
    Member("d", 1, 2, main=("2", "3")),
    stock={"1": 3, "2": 2, "3": 1, "4": 1},
    options=Options(plentiful_free=False),
)


def test_mouldy_packets_are_taken_back_from_the_latest_turns_and_packed_ones_last():
    result = share(MOULD)
    assert [p.member for p in packets_to_take_back(result, "1", 1)] == ["c", "b", "a"]
    packed = {("c", "1"), ("b", "1")}
    assert [p.member for p in packets_to_take_back(result, "1", 1, packed)] == ["a", "c", "b"]


def test_more_mouldy_packets_than_were_given_cannot_be_taken_back():
    with pytest.raises(BadInput, match="Only 3 packets"):
        packets_to_take_back(share(MOULD), "1", 4)


def test_who_lost_a_packet_takes_a_turn_before_anybody_else():
    first = share(MOULD)
    assert pairs(first) == {("a", "1"), ("b", "1"), ("c", "1"), ("d", "2"), ("d", "3"), ("a", "4")}
    lost = packets_to_take_back(first, "1", 1)[:1]
    following = after_loss(MOULD, first, lost)
    after = share(following)
    # One packet of line 2 was left over: it is the second choice of c, who has none now.
    assert pairs(after) == (pairs(first) - {("c", "1")}) | {("c", "2")}
    made_good = next(packet for packet in after.packets if packet.member == "c")
    assert (made_good.turn, made_good.phase) == (1, "make good")
    assert problems(following, after) == ()


def test_a_packet_that_was_never_given_cannot_be_lost():
    first = share(MOULD)
    stranger = first.packets[0]._replace(member="d", line="1")
    with pytest.raises(BadInput, match="not given"):
        after_loss(MOULD, first, [stranger])


@SOME
@given(exchanges(), st.data())
def test_after_a_loss_everybody_keeps_the_rest_and_no_rule_is_broken(inputs, data):
    first = share(inputs)
    if not first.packets:
        return
    lost = data.draw(
        st.lists(st.integers(0, len(first.packets) - 1), min_size=1, max_size=3, unique=True)
    )
    taken_back = [first.packets[at] for at in lost]
    following = after_loss(inputs, first, taken_back)
    after = share(following)
    kept = Counter((p.member, p.line) for p in first.packets) - Counter(
        (p.member, p.line) for p in taken_back
    )
    assert not kept - Counter((p.member, p.line) for p in after.packets)
    assert problems(following, after) == ()


def test_a_member_who_cancels_leaves_her_packets_to_the_next_in_turn():
    inputs = exchange(
        Member("a", 1, 1, main=("1",)), Member("b", 1, 1, main=("1",)), stock={"1": 1}
    )
    first = share(inputs)
    after = share(without_member(top_up(inputs, first), "a"))
    assert pairs(after) == {("b", "1")}


def test_orders_already_packed_stay_when_a_corrected_list_is_run_again():
    inputs = exchange(
        Member("a", 1, 1, main=("1",)), Member("b", 1, 1, main=("1", "2")), stock={"1": 1, "2": 1}
    )
    first = share(inputs)
    packed = replay(inputs, first, packed=[("b", "2")])
    corrected = replace(
        packed, members=(replace(inputs.members[0], main=("2",)), inputs.members[1])
    )
    # Member a now asks for line 2, but b's packet of it is packed; b has no room for line 1.
    assert pairs(share(corrected)) == {("b", "2")}


def test_what_was_not_allotted_cannot_be_packed():
    inputs = exchange(Member("a", 1, 1, main=("1",)), stock={"1": 1, "2": 1})
    with pytest.raises(BadInput, match="not allotted"):
        replay(inputs, share(inputs), packed=[("a", "2")])


def test_a_barred_pair_that_is_packed_must_be_taken_back_by_a_person_first():
    inputs = exchange(
        Member("a", 1, 1, main=("1",)),
        stock={"1": 1},
        bars=(Bar("a", "1", "needs a certificate"),),
        frozen=(Frozen("a", "1"),),
    )
    with pytest.raises(BadInput, match="Take the packet back"):
        share(inputs)


def test_an_allowance_lowered_below_what_is_packed_takes_nothing_back():
    inputs = exchange(
        Member("a", 1, 1, main=("1", "2", "3")),
        stock={"1": 1, "2": 1, "3": 1},
        frozen=(Frozen("a", "1"), Frozen("a", "2")),
    )
    assert pairs(share(inputs)) == {("a", "1"), ("a", "2")}


def test_a_donors_own_packet_kept_back_counts_against_the_allowance_only_if_said_so():
    inputs = exchange(Member("a", 0, 1, main=("1",)), stock={"1": 1, "2": 1})
    free = replace(inputs, frozen=(Frozen("a", "2", counts=False),))
    assert pairs(share(free)) == {("a", "1"), ("a", "2")}
    counted = replace(inputs, frozen=(Frozen("a", "2"),))
    assert pairs(share(counted)) == {("a", "2")}


def test_more_frozen_packets_than_stock_is_a_contradiction():
    inputs = exchange(Member("a", 1, 3), stock={"1": 1}, frozen=(Frozen("a", "1"),) * 2)
    with pytest.raises(BadInput, match="more frozen packets than stock"):
        share(inputs)


HOUSE = exchange(
    Member("a", 1, 2, main=("1", "2"), household="Mill House"),
    Member("b", 1, 2, main=("1", "2"), household="Mill House"),
    Member("c", 1, 2, main=("1",)),
    stock={"1": 2, "2": 2},
    options=Options(one_per_household=True),
)


@pytest.mark.parametrize("policy", ["turns", "straight", "even"])
def test_a_household_with_two_memberships_shares_one_packet_of_a_line(policy):
    inputs = replace(HOUSE, policy=policy)
    result = share(inputs)
    of_line = Counter(packet.line for packet in result.packets if packet.member in {"a", "b"})
    assert of_line == {"1": 1, "2": 1}
    assert ("c", "1") in pairs(result)
    assert problems(inputs, result) == ()


@SOME
@given(exchanges())
def test_even_keeps_household_caps_and_proves_itself_by_its_prices(inputs):
    inputs = replace(inputs, policy="even")
    result = share(inputs)
    assert problems(inputs, result) == ()


@SOME
@given(exchanges(), st.data())
def test_the_check_of_prices_notices_a_packet_that_goes_elsewhere(inputs, data):
    """A check that passes everything would prove nothing."""
    inputs = replace(inputs, policy="even")
    result = share(inputs)
    if not result.packets:
        return
    dropped = data.draw(st.integers(0, len(result.packets) - 1))
    less = tuple(packet for at, packet in enumerate(result.packets) if at != dropped)
    assert problems(inputs, replace(result, packets=less)) != ()


def test_two_packets_asked_for_are_two_places_in_the_list():
    inputs = replace(
        exchange(Member("a", 1, 5, main=("1", "1", "1")), stock={"1": 3}),
        lines=(Line("1", 3, copies=2),),
    )
    assert [packet.position for packet in share(inputs).packets] == [1, 2]


def test_a_packet_owed_is_made_good_by_turns_never_by_the_even_policy():
    inputs = replace(MOULD, make_good=("c",))
    assert share_by_turns(inputs).packets[0].member == "c"
    with pytest.raises(BadInput, match="made good by turns"):
        share_evenly(inputs)


def test_a_result_of_even_differs_from_none_of_its_equals_by_chance():
    """Two members alike and one packet: the draw's seed decides, the same on every run."""
    members = (Member("a", 1, 1, main=("1",)), Member("b", 1, 1, main=("1",)))
    by_seed = set()
    for at in range(12):
        inputs = replace(
            exchange(*members, stock={"1": 1}), policy="even", draw_seed=bytes([at]) * 32
        )
        assert pairs(share(inputs)) == pairs(share(inputs))
        by_seed |= pairs(share(inputs))
    assert by_seed == {("a", "1"), ("b", "1")}


def document(**changes) -> bytes:
    whole = {
        "format": "seed allocation inputs 1",
        "event": "exchange-2027",
        "policy": "turns",
        "draw": {"order": ["a"]},
        "members": [{"number": "a", "tier": 1, "allowance": 2, "main": ["1"]}],
        "lines": [{"number": "1", "stock": 1}],
    }
    return json.dumps({**whole, **changes}).encode()


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"{", "not a JSON document"),
        (b"\xff\xfe", "not a JSON document"),
        (b"[]", "the document must be an object"),
        (document(surprise=1), "a field surprise that is not known"),
        (b'{"format":"x","format":"y"}', "format stands twice"),
        (
            document(lines=[{"number": "1", "stock": True}]),
            "stock of line 1 must be a whole number",
        ),
        (document(lines=[{"number": "1", "stock": 1.5}]), "stock of line 1 must be a whole number"),
        (document(lines=[{"number": "1"}]), "line 1 has no stock"),
        (document(lines=[7]), "line \\? must be an object"),
        (document(members=[{"number": "a", "tier": 1, "allowance": 2, "main": [1]}]), "as text"),
        (document(members=[{"number": "a", "tier": 1, "allowance": 2, "main": ["8"]}]), "line 8"),
        (document(draw={"order": ["a", "a"]}), "every member once"),
        (document(draw={"order": ["b"]}), "no member b"),
        (document(draw={"seed": "zz"}), "hexadecimal"),
        (document(draw={"seed": "00" * 32, "order": ["b"]}), "not the one the seed draws"),
        (document(plentiful=["9"]), "no line 9"),
        (document(make_good=["z"]), "no member z"),
        (document(barred=[{"member": "a", "line": "1"}]), "a barred pair has no rule"),
        (document(options={"head_start": "early"}), "head_start of options must be a whole"),
    ],
)
def test_a_document_that_cannot_be_read_says_what_is_wrong(data, words):
    with pytest.raises(BadInput, match=words):
        share(read_inputs(data))


def test_a_secret_that_was_not_committed_to_is_refused():
    draw = {"secret": "00" * 32, "public_value": "1", "commitment": lottery.commitment(b"1" * 32)}
    with pytest.raises(BadInput, match="committed"):
        read_inputs(document(draw=draw))


def test_a_strict_head_start_can_be_read():
    inputs = read_inputs(document(options={"head_start": "strict"}))
    assert inputs.options.head_start == "strict"
