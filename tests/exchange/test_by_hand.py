"""The keeper overrules the draw: with a reason, within every rule, and for every later run."""

import json
from collections import Counter

import pytest
from django.urls import reverse

from crosses.base.refusal import Refused
from seedbank.exchange.actions.allocation import replay
from seedbank.exchange.actions.by_hand import change_by_hand
from seedbank.exchange.actions.listing import bar_line
from seedbank.exchange.actions.picking import scan, take_in_hand
from seedbank.exchange.models import AllocationRun, ParcelItem
from seedbank.exchange.queries.inputs import living_promises
from tests.factories.bank import packets_of
from tests.factories.exchange import (
    A_DAY,
    AFTER,
    announced,
    line,
    listed_round,
    share_out,
    stored_lot,
    wish,
)
from tests.factories.members import HouseholdFactory, MemberFactory

pytestmark = pytest.mark.django_db


def change(found, keeper, member, line_number, kind="give", why="her only wish for years"):
    return change_by_hand(
        round=found,
        member=member,
        line_number=line_number,
        kind=kind,
        why=why,
        by=keeper,
        at=AFTER + A_DAY,
    )


def holders(found, line_number):
    return {
        item.parcel.member
        for item in living_promises(found)
        if item.line.line_number == line_number
    }


def loser_of(found, members, line_number=1):
    return next(member for member in members if member not in holders(found, line_number))


def test_before_the_announcement_a_member_can_be_given_what_the_draw_gave_another(
    found, three, ignatius
):
    share_out(found, ignatius)
    loser = loser_of(found, three)
    run = change(found, ignatius, loser, 1)
    assert holders(found, 1) == {loser}
    assert run.kind == "replay"
    assert "her only wish for years" in run.why
    assert {
        "member": found.name_published(loser.number),
        "line": "1",
        "counts": True,
    } in json.loads(run.inputs)["frozen"]


def test_after_the_announcement_a_packet_must_be_free_to_be_given(found, three, ignatius):
    announced(found, ignatius)
    # Whoever has had least of the two packets allowed still has room.
    held = Counter(item.parcel.member for item in living_promises(found))
    loser = min(set(three) - holders(found, 1), key=lambda member: held[member])
    assert held[loser] < 2
    with pytest.raises(Refused, match="No packet of line 1 is free"):
        change(found, ignatius, loser, 1)


def test_what_is_taken_back_by_hand_goes_to_the_next_in_line(found, three, ignatius):
    announced(found, ignatius)
    # Two take two packets each, the third has room for what is taken from the first.
    winner = holders(found, 1).pop()
    order = json.loads(AllocationRun.objects.get().inputs)["draw"]["order"]
    assert order[0] == found.name_published(winner.number)
    run = change(found, ignatius, winner, 1, kind="withhold", why="asked us to")
    assert run.kind == "top_up"
    assert winner not in holders(found, 1)
    assert len(holders(found, 1)) <= 1
    assert "asked us to" in run.inputs


def test_later_runs_keep_what_was_changed_by_hand(found, three, ignatius):
    share_out(found, ignatius)
    first, second = three[0], loser_of(found, three)
    change(found, ignatius, second, 1)
    change(found, ignatius, first, 2, kind="withhold")
    replay(round=found, why="to see", by=ignatius, at=AFTER + 2 * A_DAY)
    assert holders(found, 1) == {second}
    assert first not in holders(found, 2)


def test_a_later_word_takes_the_place_of_the_earlier(found, three, ignatius):
    share_out(found, ignatius)
    loser = loser_of(found, three)
    change(found, ignatius, loser, 1)
    change(found, ignatius, loser, 1, kind="withhold", why="a mistake")
    assert loser not in holders(found, 1)


def test_a_reason_is_asked_for(found, three, ignatius):
    share_out(found, ignatius)
    with pytest.raises(Refused) as no:
        change(found, ignatius, three[0], 1, why="  ")
    assert no.value.field == "why"


def test_a_bar_is_not_overruled(found, three, ignatius, rollo):
    share_out(found, ignatius)
    bar_line(
        line=line(found, 3), country=rollo.country, words="needs a permit", by=ignatius, at=AFTER
    )
    with pytest.raises(Refused, match="needs a permit"):
        change(found, ignatius, rollo, 3)


def test_a_household_that_has_its_packet_is_given_no_second(ignatius):
    found = listed_round(ignatius, stored_lot("Primula a", 3), household_shares_cap=True)
    members = MemberFactory.create_batch(2, household=HouseholdFactory())
    for member in members:
        wish(found, member, 1)
    announced(found, ignatius)
    with pytest.raises(Refused, match="as many packets of line 1"):
        change(found, ignatius, loser_of(found, members), 1)


def test_who_has_all_that_is_allowed_is_given_no_more(found, three, ignatius):
    announced(found, ignatius)
    winner = holders(found, 1).pop()
    other = 2 if winner in holders(found, 3) else 3
    packets_of(line(found, other).lot, 3)
    with pytest.raises(Refused, match="has the 2 packets allowed"):
        change(found, ignatius, winner, other)


def test_what_is_packed_is_not_taken_back(found, three, ignatius, hettie):
    announced(found, ignatius)
    item = ParcelItem.objects.filter(line__line_number=1).get()
    take_in_hand(parcel=item.parcel, by=hettie, at=AFTER)
    scan(parcel=item.parcel, number=item.packet.number, by=hettie, at=AFTER)
    with pytest.raises(Refused, match="taken out of its parcel first"):
        change(found, ignatius, item.parcel.member, 1, kind="withhold")


def test_a_member_without_wishes_can_be_given_a_packet(found, three, ignatius):
    announced(found, ignatius)
    packets_of(line(found, 3).lot, 4)
    guest = MemberFactory()
    change(found, ignatius, guest, 3, why="judge of the show")
    assert guest in holders(found, 3)


def test_the_member_reads_what_was_changed_by_hand_and_why(client, found, three, ignatius):
    announced(found, ignatius)
    packets_of(line(found, 3).lot, 4)
    guest = MemberFactory()
    change(found, ignatius, guest, 3, why="judge of the show")
    client.force_login(guest)
    text = client.get(reverse("my-result", args=[found.slug])).content.decode()
    assert "by hand, give a packet" in text
    assert "judge of the show" in text


def test_the_desk_keeps_what_was_typed_when_a_rule_says_no(client, found, three, ignatius):
    announced(found, ignatius)
    client.force_login(ignatius)
    typed = {"member": three[0].number, "line_number": "99", "kind": "give", "why": "because"}
    answer = client.post(reverse("allocation-by-hand", args=[found.slug]), typed)
    assert answer.status_code == 422
    form = answer.context["hand_form"]
    assert form.errors["line_number"] == ["There is no line 99 on this list."]
    assert 'value="because"' in answer.content.decode()


def test_only_the_keeper_changes_by_hand(client, found, three, ignatius):
    announced(found, ignatius)
    client.force_login(three[0])
    assert client.post(reverse("allocation-by-hand", args=[found.slug]), {}).status_code == 403
