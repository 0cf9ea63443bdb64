"""What may happen to a packet, and what its movements add up to."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from crosses.calc.errors import BadInput
from seedbank.calc.packetstate import (
    GONE,
    KINDS,
    STATES,
    State,
    Step,
    balance,
    balance_of_states,
    may_follow,
    next_state,
    state_of,
)

DRAWER, OTHER_DRAWER, TANSY, ROLLO = 3, 4, 7, 8

# The whole life of a packet, written a second time the other way round: from each state, what can
# happen and where it leads (design.md 3, 'Packet').
LIFE = {
    "with_member": {
        "received": "in_store",
        "moved": "with_member",
        "part_sown": "with_member",
        "sown": "sown",
        "split": "split",
        "discarded": "discarded",
    },
    "in_store": {
        "moved": "in_store",
        "held": "held",
        "part_sown": "in_store",
        "sown": "sown",
        "split": "split",
        "discarded": "discarded",
    },
    "held": {"moved": "held", "released": "in_store", "packed": "packed"},
    "packed": {"unpacked": "held", "sent": "sent", "returned": "in_store"},
    "sent": {
        "returned": "in_store",
        "moved": "sent",
        "part_sown": "sent",
        "sown": "sown",
        "split": "split",
        "discarded": "discarded",
    },
    "sown": {},
    "split": {},
    "discarded": {},
}


def a_packet(state: str, seeds: int = 25) -> State:
    holder = TANSY if state in {"with_member", "sent"} else None
    place = None if state in GONE | {"sent"} else DRAWER
    return State(state, place, holder, 0 if state in GONE else seeds, 5)


def a_step(kind: str, step: int) -> Step:
    seeds = {"made": 25, "part_sown": 1}.get(kind)
    return Step(step, kind, place=OTHER_DRAWER, holder=ROLLO, seeds=seeds)


@pytest.mark.parametrize(("state", "kind"), list(itertools.product(STATES, KINDS)))
def test_each_movement_follows_where_it_may_and_nowhere_else(state, kind):
    expected = LIFE[state].get(kind)
    assert may_follow(state, kind) is (expected is not None)
    if expected is None:
        with pytest.raises(BadInput):
            next_state(a_packet(state), a_step(kind, 6))
    else:
        assert next_state(a_packet(state), a_step(kind, 6)).state == expected


@given(st.lists(st.sampled_from(KINDS), max_size=30))
def test_whatever_is_tried_a_packet_is_in_one_state_and_never_gains_seed(kinds):
    now = next_state(None, Step(1, "made", holder=TANSY, seeds=25))
    steps = [Step(1, "made", holder=TANSY, seeds=25)]
    for kind in kinds:
        step = a_step(kind, now.step + 1)
        before = now
        try:
            now = next_state(now, step)
        except BadInput:
            continue
        steps.append(step)
        assert now.seeds_left <= before.seeds_left
        assert before.state not in GONE
        assert (now.place is None) or (now.state not in GONE | {"sent"})
    assert state_of(steps) == now
    assert [step.step for step in steps] == list(range(1, now.step + 1))


@given(st.lists(st.lists(st.sampled_from(KINDS), max_size=8), max_size=12))
def test_the_balance_of_many_packets_always_adds_up(stories):
    packets = []
    for kinds in stories:
        steps = [Step(1, "made", holder=TANSY, seeds=25)]
        for kind in kinds:
            step = a_step(kind, len(steps) + 1)
            try:
                next_state(state_of(steps), step)
            except BadInput:
                continue
            steps.append(step)
        packets.append(steps)
    sums = balance(packets)
    assert sums.made == len(packets) == sum(getattr(sums, state) for state in STATES)


def test_a_members_packet_is_made_in_the_members_hands():
    assert next_state(None, Step(1, "made", holder=TANSY, seeds=25)) == State(
        "with_member", None, TANSY, 25, 1
    )


def test_the_banks_packet_is_made_into_a_place():
    assert next_state(None, Step(1, "made", place=DRAWER, seeds=25)).state == "in_store"
    with pytest.raises(BadInput) as no:
        next_state(None, Step(1, "made", seeds=25))
    assert no.value.field == "place"


def test_a_promised_packet_stays_where_the_picker_finds_it():
    assert next_state(a_packet("in_store"), Step(6, "held")).place == DRAWER


def test_a_packet_taken_out_of_its_parcel_goes_back_to_its_tray():
    packed = next_state(a_packet("held"), Step(6, "packed"))
    assert next_state(packed, Step(7, "unpacked")).place == DRAWER


def test_a_sent_packet_lies_nowhere_here_and_names_its_recipient():
    sent = next_state(a_packet("packed"), Step(6, "sent", holder=ROLLO))
    assert (sent.place, sent.holder) == (None, ROLLO)


def test_a_packet_that_comes_back_needs_a_place_and_is_the_banks_again():
    with pytest.raises(BadInput) as no:
        next_state(a_packet("sent"), Step(6, "returned"))
    assert no.value.field == "place"
    back = next_state(a_packet("sent"), Step(6, "returned", place=DRAWER))
    assert (back.state, back.place, back.holder) == ("in_store", DRAWER, None)


def test_seed_sown_in_part_leaves_the_rest_where_it_is():
    rest = next_state(a_packet("with_member", seeds=25), Step(6, "part_sown", seeds=10))
    assert (rest.state, rest.holder, rest.seeds_left) == ("with_member", TANSY, 15)


@pytest.mark.parametrize(
    ("kind", "seeds"), [("part_sown", 26), ("part_sown", 25), ("part_sown", None), ("sown", 26)]
)
def test_more_seed_than_the_packet_holds_is_not_sown(kind, seeds):
    with pytest.raises(BadInput) as no:
        next_state(a_packet("with_member", seeds=25), Step(6, kind, seeds=seeds))
    assert no.value.field == "seeds"


def test_a_step_is_neither_left_out_nor_used_twice():
    for step in (5, 7):
        with pytest.raises(BadInput, match="Step 6 comes next"):
            next_state(a_packet("in_store"), Step(step, "held"))


@pytest.mark.parametrize(
    ("state", "kind", "words"),
    [
        (
            "held",
            "held",
            "This packet is promised to a parcel: only a packet in the store can be promised.",
        ),
        (
            "discarded",
            "held",
            "This packet was discarded (step 5): only a packet in the store can be promised.",
        ),
        (
            "in_store",
            "packed",
            "This packet lies in the store: only a packet promised to a parcel can be packed.",
        ),
        ("in_store", "made", "A packet is made once."),
    ],
)
def test_the_refusal_says_where_the_packet_is_and_what_it_would_take(state, kind, words):
    with pytest.raises(BadInput) as no:
        next_state(a_packet(state), a_step(kind, 6))
    assert no.value.message == words


@pytest.mark.parametrize("steps", [[], [Step(1, "held")], [Step(2, "made", holder=TANSY, seeds=1)]])
def test_a_story_begins_with_the_packet_being_made(steps):
    with pytest.raises(BadInput):
        state_of(steps)


def test_nothing_unknown_happens_to_a_packet():
    with pytest.raises(BadInput, match="vanished"):
        next_state(a_packet("in_store"), Step(6, "vanished"))


def test_the_sum_is_written_without_the_empty_states():
    assert balance_of_states({"in_store": 3, "sent": 2}).sentence == "5 made = 3 in store + 2 sent."
    assert balance_of_states({}).sentence == "No packet has been made yet."
