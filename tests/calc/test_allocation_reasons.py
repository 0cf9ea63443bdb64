"""A sentence for every wish, the table to choose a policy by, and a checker that can say no."""

import json
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from crosses.calc.errors import BadInput
from seedbank.calc import lottery
from seedbank.calc.allocation import (
    POLICIES,
    Bar,
    Frozen,
    Inputs,
    Line,
    Member,
    Options,
    Packet,
    Share,
    canonical_bytes,
    common_part,
    inputs_document,
    main_wishes,
    measure,
    outcomes,
    own_parts,
    problems,
    read_result,
    reasons_document,
    records,
    result_document,
    sentences,
    share,
    shortages,
    tell,
)
from seedbank.calc.allocation.__main__ import main
from tests.calc.allocation_cases import exchanges

SOME = settings(max_examples=120, deadline=None)

EVERY_OUTCOME = Inputs(
    event="exchange-2027",
    policy="turns",
    members=(
        Member(
            "me",
            1,
            6,
            main=("rare", "plenty", "rare", "barred", "mine", "withdrawn", "last", "house"),
            reserve=("spare", "late"),
            household="Mill House",
        ),
        Member("partner", 1, 2, main=("house", "last"), household="Mill House"),
        Member("first", 1, 1, main=("last",)),
        Member("greedy", 1, 1, main=("rare", "house")),
    ),
    lines=(
        Line("rare", 1),
        Line("plenty", 5),
        Line("barred", 1),
        Line("mine", 1),
        Line("withdrawn", 0, withdrawn=True),
        Line("last", 1),
        Line("house", 3),
        Line("spare", 2),
        Line("late", 1),
    ),
    order=("first", "me", "greedy", "partner"),
    bars=(Bar("me", "barred", "needs a certificate"),),
    frozen=(Frozen("me", "mine"),),
    options=Options(one_per_household=True),
)


def told(inputs: Inputs, member: str, policy: str = "turns") -> dict[int, tuple[str, str]]:
    """Return code and sentence by place in the list."""
    inputs = replace(inputs, policy=policy)
    result = share(inputs)
    record = next(each for each in records(inputs, result) if each.member.number == member)
    lines = {line.number: line for line in inputs.lines}
    codes = outcomes(record, lines, inputs, result)
    said = sentences(record, lines, main_wishes(inputs), inputs, result)
    return {
        outcome.position: (outcome.code, sentence)
        for outcome, sentence in zip(codes, said, strict=True)
    }


def test_every_wish_has_its_outcome_and_its_sentence():
    assert told(EVERY_OUTCOME, "me") == {
        1: ("GOT", "Your 1st choice, taken in pass 1, turn 2."),
        2: ("PLENTIFUL", "There was enough for all 1 who asked."),
        3: ("DUPLICATE", "A member may have 1 packet of this line; you asked for more."),
        4: ("BARRED", "Barred for you: needs a certificate"),
        5: ("PACKED", "Your 5th choice; this packet was already yours."),
        6: ("WITHDRAWN", "This line was withdrawn."),
        7: (
            "GONE",
            "1 packet, 3 main wishes. The last went in pass 1, turn 1. You reached this wish in"
            " pass 2, turn 5; before it you had taken your 1st, 2nd and 5th choice.",
        ),
        8: ("HOUSEHOLD", "Your household already has its 1 packet of this line."),
        9: ("GOT", "Your 9th choice, a reserve, taken in pass 1 of the reserves, turn 6."),
        10: ("GOT", "Your 10th choice, a reserve, taken in pass 2 of the reserves, turn 7."),
    }


def test_a_full_member_reads_that_all_she_has_she_ranked_higher():
    inputs = replace(
        EVERY_OUTCOME, members=(Member("me", 1, 1, main=("plenty", "rare")),), order=("me",), bars=(),
        frozen=(),
    )  # fmt: skip
    code, sentence = told(inputs, "me")[2]
    assert (code, sentence) == ("FULL", "You already had 1 packet, all ranked higher by you.")


def test_full_by_frozen_packets_is_not_said_to_be_ranked_higher():
    inputs = replace(
        EVERY_OUTCOME, members=(Member("me", 1, 1, main=("plenty",)),), order=("me",), bars=()
    )
    assert told(inputs, "me")[1] == ("FULL", "You already had 1 packet.")


def test_under_straight_a_turn_is_the_place_in_the_draw():
    assert told(EVERY_OUTCOME, "me", "straight")[7] == (
        "GONE",
        "1 packet, 3 main wishes. The last went in turn 1. You reached this wish in turn 2; before"
        " it you had taken your 1st, 2nd and 5th choice.",
    )


def test_under_even_a_wish_not_met_says_what_meeting_it_would_have_cost():
    members = (Member("me", 1, 2, main=("1",), reserve=("2",)), Member("rival", 1, 2, main=("1",)))
    inputs = Inputs("e", "even", members, (Line("1", 1), Line("2", 1)), ("me", "rival"))
    code, sentence = told(inputs, "me", "even")[1]
    assert code == "GONE"
    assert "leaving somebody else with fewer packets" in sentence
    assert told(inputs, "me", "even")[2] == ("GOT", "Your 2nd choice, a reserve.")


def test_many_choices_taken_before_are_counted_not_listed():
    lines = tuple(Line(str(number), 1) for number in range(9))
    mine = Member("me", 1, 9, main=tuple(str(number) for number in range(9)))
    rival = Member("rival", 0, 1, main=("8",))
    inputs = Inputs("e", "turns", (mine, rival), lines, ("me", "rival"))
    assert told(inputs, "me")[9][1].endswith("before it you had taken 8 higher choices.")


def test_a_line_with_nothing_to_give_says_so():
    inputs = Inputs("e", "turns", (Member("me", 1, 1, main=("1",)),), (Line("1", 0),), ("me",))
    assert told(inputs, "me")[1] == (
        "GONE",
        "0 packets, 1 main wish. All were spoken for. You reached this wish in pass 1, turn 1;"
        " before it you had taken none.",
    )


def test_a_packet_that_makes_good_says_so():
    inputs = replace(EVERY_OUTCOME, make_good=("me",))
    assert told(inputs, "me")[1] == ("GOT", "Your 1st choice, to make good a packet that was lost.")


@SOME
@given(exchanges())
def test_every_wish_has_one_outcome_and_no_sentence_names_another_member(inputs):
    for policy in POLICIES:
        inputs = replace(inputs, policy=policy)
        result = share(inputs)
        lines = {line.number: line for line in inputs.lines}
        for record in records(inputs, result):
            wishes = len(record.member.main) + len(record.member.reserve)
            codes = outcomes(record, lines, inputs, result)
            assert [outcome.position for outcome in codes] == list(range(1, wishes + 1))
            met = sum(outcome.code in {"GOT", "PLENTIFUL", "PACKED"} for outcome in codes)
            assert met == sum(packet.position > 0 for packet in record.packets)
            for sentence in sentences(record, lines, main_wishes(inputs), inputs, result):
                assert sentence.endswith((".", "sent there"))
                assert "Member" not in sentence.replace("A member", "")


@SOME
@given(exchanges(with_households=False))
def test_within_a_tier_nobody_falls_more_than_one_packet_behind(inputs):
    """The bound the note on the policy calls EF1*: packets both have are left aside."""
    assert measure(inputs, share(inputs)).envy_beyond_one.met == 0


@SOME
@given(exchanges(with_households=False))
def test_a_donor_lacks_no_main_wish_that_an_ordinary_member_took_unless_she_is_full(inputs):
    result = share(inputs)
    has = {(packet.member, packet.line) for packet in result.packets}
    donors = [member for member in inputs.members if member.tier == 0]
    ordinary = {member.number for member in inputs.members if member.tier == 1}
    barred = {(bar.member, bar.line) for bar in inputs.bars}
    turn_of = {
        packet.line: packet.turn for packet in result.packets
        if packet.member in ordinary and packet.phase == "main"
    }  # fmt: skip
    for donor in donors:
        taken = [packet.turn for packet in result.packets if packet.member == donor.number]
        for line in donor.main[:1]:
            if (donor.number, line) in has | barred or donor.number in result.full:
                continue
            # Her first wish was read in her first turn: no ordinary member was before her in it.
            assert turn_of.get(line, 0) == 0 or min(taken, default=turn_of[line]) <= turn_of[line]


def test_the_table_counts_what_a_hand_counts():
    inputs = Inputs(
        "e",
        "turns",
        (
            Member("a", 1, 2, main=("1", "2")),
            Member("b", 1, 2, main=("1", "2")),
            Member("c", 1, 2, main=("1",)),
            Member("idle", 1, 2),
        ),
        (Line("1", 1), Line("2", 1), Line("3", 4)),
        ("a", "b", "c", "idle"),
    )
    found = measure(inputs, share(inputs))
    assert found.first_choices == Share(1, 3)
    assert found.top_three == Share(2, 3)
    assert found.filled == Share(2, 5)
    assert (found.packets, found.packets_left) == (2, 4)
    assert found.mean_rank == 1.5
    assert found.worst_served == Share(0, 1)
    assert found.empty_handed == 1
    # b and c each might prefer the parcel of a, who has the one packet of line 1.
    assert found.envy == Share(2, 6)
    assert found.envy_beyond_one == Share(0, 6)
    assert found.basis == "3 members with wishes; 6 of 6 pairs compared"


def test_a_table_without_anybody_who_wishes_shows_no_share():
    inputs = Inputs("e", "turns", (Member("a", 1, 2),), (Line("1", 1),), ("a",))
    found = measure(inputs, share(inputs))
    assert (found.mean_rank, found.worst_served, found.first_choices) == (None, None, Share(0, 0))


def test_one_after_the_other_leaves_the_last_two_behind():
    """The control of the promise above: `straight` breaks it, so the measure can tell."""
    members = tuple(Member(number, 1, 3, main=("1", "2", "3")) for number in ("a", "b"))
    lines = tuple(Line(number, 1) for number in ("1", "2", "3"))
    inputs = Inputs("e", "straight", members, lines, ("a", "b"))
    assert measure(inputs, share(inputs)).envy_beyond_one == Share(1, 2)


def test_the_shortage_report_puts_the_most_unmet_wishes_first():
    members = tuple(Member(number, 1, 3, main=("1", "2")) for number in ("a", "b", "c"))
    lines = (Line("1", 2), Line("2", 0), Line("3", 5))
    bars = (Bar("a", "1", "no"),)
    inputs = Inputs("e", "turns", members, lines, ("a", "b", "c"), bars=bars)
    assert [(each.line, each.wishes, each.unmet) for each in shortages(inputs)] == [("2", 3, 3)]


def _packet(member: str, line: str, position: int, turn: int) -> Packet:
    return Packet(member, line, "main", position, turn, was_frozen=False)


TWO = Inputs(
    "e",
    "turns",
    (Member("a", 1, 1, main=("1", "2")), Member("b", 1, 1, main=("1", "2"))),
    (Line("1", 1), Line("2", 2)),
    ("a", "b"),
    bars=(Bar("b", "2", "no"),),
)


@pytest.mark.parametrize(
    ("packets", "words"),
    [
        ([_packet("a", "1", 1, 1), _packet("b", "1", 1, 2)], "2 packets given, 1 in stock"),
        ([_packet("a", "1", 1, 1), _packet("a", "2", 2, 3)], "2 packets, 1 allowed"),
        ([_packet("b", "2", 2, 2)], "barred for member b"),
        ([_packet("a", "2", 1, 1)], "another line than wish 1"),
        ([_packet("a", "1", 7, 1)], "no wish of hers"),
        ([_packet("a", "2", 2, 1)], "closing turns"),
    ],
)
def test_the_checker_says_what_is_wrong_with_a_forged_result(packets, words):
    honest = share(TWO)
    assert problems(TWO, honest) == ()
    assert any(words in fault for fault in problems(TWO, replace(honest, packets=tuple(packets))))


def test_the_checker_notices_closing_turns_that_were_moved():
    honest = share(TWO)
    assert problems(TWO, replace(honest, closing_turns={"1": 2})) != ()


def test_the_checker_notices_frozen_packets_that_vanished():
    inputs = replace(TWO, frozen=(Frozen("a", "2"),))
    assert problems(inputs, replace(share(inputs), packets=())) != ()


@pytest.fixture
def written(tmp_path):
    path = tmp_path / "inputs.json"
    path.write_bytes(canonical_bytes(inputs_document(TWO)))
    return path


def test_the_command_writes_packets_and_reasons_to_a_file(written, tmp_path):
    output = tmp_path / "result.json"
    assert main([str(written), "--output", str(output)]) == 0
    document = json.loads(output.read_text())
    assert [(p["member"], p["line"], p["turn"]) for p in document["packets"]] == [("a", "1", 1)]
    assert document["reasons"]["b"][1] == ["2", "BARRED", 0, "Barred for you: no"]
    assert main([str(written), "--check", str(output)]) == 0


def test_the_command_can_leave_the_sentences_out(written, capsysbinary):
    assert main([str(written), "--without-sentences"]) == 0
    assert json.loads(capsysbinary.readouterr().out)["reasons"]["b"][1] == ["2", "BARRED", 0]


def test_the_command_says_what_is_wrong_with_a_file(tmp_path, written, capsys):
    assert main([str(tmp_path / "absent.json")]) == 2
    assert "absent.json" in capsys.readouterr().err
    (tmp_path / "empty.json").write_bytes(b"")
    assert main([str(tmp_path / "empty.json")]) == 2
    assert "not a JSON document" in capsys.readouterr().err
    assert main([str(written), "--check", str(tmp_path / "empty.json")]) == 2


@pytest.mark.parametrize("claim", ["[]", '"x"', "{}"])
def test_a_result_that_is_none_is_not_the_right_one(written, tmp_path, claim):
    (tmp_path / "claim.json").write_text(claim)
    assert main([str(written), "--check", str(tmp_path / "claim.json")]) == 1


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: lottery.seed("", bytes(32), "1"), "needs a name"),
        (lambda: lottery.seed("e", bytes(32), ""), "public value"),
        (lambda: lottery.seed("e", b"short", "1"), "32 bytes"),
        (lambda: lottery.member_key(b"short", "1"), "32 bytes"),
        (lambda: lottery.member_key(bytes(32), ""), "without a number"),
        (lambda: lottery.order(bytes(32), ["1", "1"]), "twice"),
    ],
)
def test_a_draw_from_half_the_facts_is_refused(call, words):
    with pytest.raises(BadInput, match=words):
        call()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"policy": "luck"}, "no policy called luck"),
        ({"members": (Member("", 1, 1),), "order": ("",)}, "Member without a number"),
        ({"members": (Member("u\u0308", 1, 1),), "order": ("u\u0308",)}, "Unicode NFC"),
        ({"members": (Member("a", 1, -1),), "order": ("a",)}, "allowance of member a"),
        ({"members": (Member("a", -1, 1),), "order": ("a",)}, "tier of member a"),
        ({"lines": (Line("1", 1, copies=0), Line("2", 1))}, "at least one packet"),
    ],
)
def test_inputs_that_contradict_themselves_are_refused(change, words):
    with pytest.raises(BadInput, match=words):
        share(replace(TWO, bars=(), **change))


@settings(max_examples=150, deadline=None)
@given(exchanges(), st.sampled_from(["turns", "straight", "even"]))
def test_what_is_kept_of_a_result_tells_the_same_as_the_whole(inputs, policy):
    """Through JSON, as it is kept: the same codes, turns and sentences for every wish."""
    inputs = replace(inputs, policy=policy)
    result = share(inputs)
    common = json.loads(json.dumps(common_part(inputs, result)))
    told = {
        number: [
            [outcome.line, outcome.code, outcome.turn, sentence]
            for outcome, sentence in tell(number, common, json.loads(json.dumps(own)))
        ]
        for number, own in own_parts(inputs, result)
    }
    assert told == reasons_document(inputs, result, with_sentences=True)


@settings(max_examples=100, deadline=None)
@given(exchanges(), st.sampled_from(["turns", "straight", "even"]))
def test_a_result_written_and_read_is_the_same_result(inputs, policy):
    inputs = replace(inputs, policy=policy)
    result = share(inputs)
    assert read_result(canonical_bytes(result_document(inputs, result))) == result
