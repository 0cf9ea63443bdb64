"""Sharing out: frozen inputs, a draw nobody steers, promises of packets, and a reason for everybody."""

import hashlib
import hmac
import json

import pytest
from django.db import IntegrityError, transaction

from crosses.base.refusal import Refused
from seedbank.bank.models import Movement, Packet
from seedbank.calc import lottery
from seedbank.calc.allocation import (
    canonical_bytes,
    read_inputs,
    read_result,
    result_document,
    share,
)
from seedbank.exchange.actions.allocation import (
    announce,
    freeze_inputs,
    replay,
    run_allocation,
    top_up,
)
from seedbank.exchange.actions.listing import withdraw_line
from seedbank.exchange.actions.picking import release_item, scan, take_in_hand
from seedbank.exchange.actions.posting import cancel_parcel
from seedbank.exchange.actions.wishes import cancel_wishes, save_wishes
from seedbank.exchange.models import AllocationRun, Parcel, ParcelItem, WishList
from seedbank.exchange.queries.inputs import Keep, gather_inputs, living_promises
from seedbank.exchange.queries.results import my_result
from tests.calc.next_run import top_up as calc_top_up
from tests.conftest import NOON
from tests.factories.bank import DonationFactory, DonationLineFactory, packets_of
from tests.factories.exchange import (
    A_DAY,
    AFTER,
    OPENS,
    announced,
    line,
    listed_round,
    share_out,
    stored_lot,
    wish,
)
from tests.factories.members import HouseholdFactory, MemberFactory

pytestmark = pytest.mark.django_db


def _given(found):
    return {(item.parcel.member.number, item.line.line_number) for item in living_promises(found)}


def published(found, member):
    """What RFC 2104 and FIPS 180-4 make of the number under the round's key, cut to 48 bits."""
    key = bytes.fromhex(found.pseudonym_key)
    return hmac.new(key, member.number.encode(), "sha256").hexdigest()[:12]


def test_wishes_are_frozen_only_after_they_have_closed(found, ignatius):
    with pytest.raises(Refused, match="still open"):
        freeze_inputs(round=found, by=ignatius, at=NOON)


def test_the_digest_that_is_published_is_of_everything_but_the_draw(found, three, ignatius):
    frozen = freeze_inputs(round=found, by=ignatius, at=AFTER)
    run = share_out(found, ignatius)
    document = json.loads(run.inputs)
    document["draw"] = {"order": sorted(document["draw"]["order"])}
    written = json.dumps(document, sort_keys=True, separators=(",", ":"), ensure_ascii=False) + "\n"
    assert hashlib.sha256(written.encode()).hexdigest() == frozen.frozen_digest


def test_nothing_is_drawn_before_the_inputs_are_frozen(found, ignatius):
    with pytest.raises(Refused, match="Freeze"):
        run_allocation(round=found, public_value="4", by=ignatius, at=AFTER)


def test_stock_that_changed_since_the_freezing_stops_the_draw(found, three, ignatius):
    freeze_inputs(round=found, by=ignatius, at=AFTER)
    packets_of(line(found, 1).lot, 1)
    with pytest.raises(Refused, match="changed since"):
        run_allocation(round=found, public_value="4", by=ignatius, at=AFTER)
    freeze_inputs(round=found, by=ignatius, at=AFTER)
    assert run_allocation(round=found, public_value="4", by=ignatius, at=AFTER)


def test_the_order_follows_from_secret_and_public_value_alone(found, three, ignatius):
    run = share_out(found, ignatius, "4 8 15")
    found.refresh_from_db()
    # The recipe as the round's page tells it, without our code.
    event = found.slug.encode()
    seed = hashlib.sha256(
        b"seed-exchange seed v1\0"
        + len(event).to_bytes(4, "big")
        + event
        + bytes.fromhex(found.draw_secret)
        + b"4 8 15"
    ).digest()
    keys = {
        published(found, member): hashlib.sha256(
            b"seed-exchange lottery v1\0"
            + seed
            + len(published(found, member).encode()).to_bytes(4, "big")
            + published(found, member).encode()
        ).digest()
        for member in three
    }
    drawn = json.loads(run.inputs)["draw"]
    assert drawn["order"] == sorted(keys, key=keys.get)
    assert drawn["seed"] == seed.hex()


def test_packets_are_held_for_parcels_in_the_order_of_the_draw(found, three, ignatius):
    run = share_out(found, ignatius)
    order = read_inputs(run.inputs.encode()).order
    first = order[0]
    assert first in {found.name_published(number) for number, line in _given(found) if line == 1}
    # Everybody may have two, five packets are there: all go, and each is held for its parcel.
    assert Packet.objects.filter(state="held").count() == 5
    for item in ParcelItem.objects.select_related("packet", "parcel"):
        last = item.packet.movements.latest("step")
        assert (last.kind, last.reference) == ("held", item.parcel.number)


def test_the_lowest_packet_numbers_go_first_and_what_is_kept_back_stays(ignatius, tansy):
    lot = stored_lot("Primula a", 3)
    found = listed_round(ignatius, lot, kept_back=1)
    for member in [tansy, *MemberFactory.create_batch(3)]:
        wish(found, member, 1)
    share_out(found, ignatius)
    states = lot.packets.order_by("number").values_list("state", flat=True)
    assert list(states) == ["held", "held", "in_store"]


def test_the_second_press_shows_the_first_ones_result(found, three, ignatius):
    first = share_out(found, ignatius)
    second = run_allocation(round=found, public_value="another value", by=ignatius, at=AFTER)
    assert second == first
    assert AllocationRun.objects.count() == 1
    found.refresh_from_db()
    assert found.public_value == "4 8 15"


def test_a_run_is_never_changed(found, three, ignatius):
    run = share_out(found, ignatius)
    run.why = "improved"
    with pytest.raises(IntegrityError), transaction.atomic():
        run.save()


def test_a_donor_may_have_more_and_chooses_first(ignatius, cosmo):
    found = listed_round(ignatius, stored_lot("Primula a", 1), allowance=1, donor_extra=1)
    donation = DonationFactory(donor=cosmo, offered_at=OPENS - A_DAY)
    DonationLineFactory(donation=donation, answer="accepted", answered_at=OPENS)
    for member in [*MemberFactory.create_batch(5), cosmo]:
        wish(found, member, 1)
    run = share_out(found, ignatius)
    assert _given(found) == {(cosmo.number, 1)}
    donor = next(each for each in read_inputs(run.inputs.encode()).members if each.tier == 0)
    assert (donor.number, donor.allowance) == (published(found, cosmo), 2)


def test_a_household_counts_as_one_where_the_round_says_so(ignatius):
    found = listed_round(ignatius, household_shares_cap=True)
    for member in MemberFactory.create_batch(2, household=HouseholdFactory(name="Oddwater")):
        wish(found, member, 1)
    run = share_out(found, ignatius)
    assert len(_given(found)) == 1
    assert "Oddwater" not in run.inputs


def test_the_published_files_tell_nobody_who_is_who(found, three, ignatius):
    run = share_out(found, ignatius)
    for member in three:
        assert published(found, member) in run.inputs
        for text in (f'"{member.number}"', member.name, member.email):
            assert text not in run.inputs + run.result


def test_a_replay_without_change_is_the_same_sharing_out(found, three, ignatius):
    share_out(found, ignatius)
    before = {(item.parcel_id, item.packet_id) for item in living_promises(found)}
    movements = Movement.objects.count()
    replay(round=found, why="to see", by=ignatius, at=AFTER)
    assert {(item.parcel_id, item.packet_id) for item in living_promises(found)} == before
    assert Movement.objects.count() == movements


def test_a_late_donation_before_the_announcement_harms_nobody(found, three, ignatius):
    share_out(found, ignatius)
    before = _given(found)
    packets_of(line(found, 1).lot, 2)
    replay(round=found, why="late donation of line 1", by=ignatius, at=AFTER)
    assert {number for number, _line in before} <= {number for number, _line in _given(found)}
    assert sum(which == 1 for _number, which in _given(found)) == 3


def test_a_member_who_cancels_gives_the_next_in_line_a_packet(found, three, ignatius):
    share_out(found, ignatius)
    winner = next(number for number, which in _given(found) if which == 1)
    wishes = WishList.objects.get(member__number=winner)
    found.refresh_from_db()
    with pytest.raises(Refused, match="Wishes closed"):
        cancel_wishes(wish_list=wishes, by=wishes.member, at=AFTER)
    cancel_wishes(wish_list=wishes, by=ignatius, at=AFTER)
    replay(round=found, why="a member left", by=ignatius, at=AFTER)
    now_given = _given(found)
    assert winner not in {number for number, _line in now_given}
    assert any(which == 1 for _number, which in now_given)
    assert Parcel.objects.get(member__number=winner).cancelled_reason


def test_a_replay_and_a_top_up_say_why(found, three, ignatius):
    share_out(found, ignatius)
    with pytest.raises(Refused) as no:
        replay(round=found, why=" ", by=ignatius, at=AFTER)
    assert no.value.field == "why"


def test_after_the_announcement_a_replay_is_refused_and_before_it_a_top_up(found, three, ignatius):
    share_out(found, ignatius)
    with pytest.raises(Refused, match="share out again instead"):
        top_up(round=found, why="x", by=ignatius, at=AFTER)
    announce(round=found, by=ignatius, at=AFTER)
    with pytest.raises(Refused, match="only a top-up"):
        replay(round=found, why="x", by=ignatius, at=AFTER)


def test_a_top_up_only_adds(found, three, ignatius):
    announced(found, ignatius)
    before = _given(found)
    packets_of(line(found, 3).lot, 3)
    run = top_up(round=found, why="late donation of line 3", by=ignatius, at=AFTER + A_DAY)
    assert before < _given(found)
    assert (run.kind, run.parent.position) == ("top_up", 1)


def test_a_top_up_reads_the_same_inputs_as_the_calculation_derives(found, three, ignatius):
    announced(found, ignatius)
    first = AllocationRun.objects.get()
    packets_of(line(found, 3).lot, 2)
    inputs = read_inputs(first.inputs.encode())
    result = read_result(first.result.encode())
    keep = Keep(promises=tuple(living_promises(found)), plentiful=result.plentiful)
    found.refresh_from_db()
    seed = lottery.seed(found.slug, bytes.fromhex(found.draw_secret), found.public_value)
    assert gather_inputs(found, draw_seed=seed, keep=keep) == calc_top_up(
        inputs, result, added={"3": 2}
    )


def test_whoever_lost_a_packet_comes_first_in_the_top_up(ignatius):
    found = listed_round(
        ignatius, stored_lot("Primula a", 1), stored_lot("Primula b", 1), allowance=1
    )
    members = MemberFactory.create_batch(4)
    for member in members:
        wish(found, member, 1)
    announced(found, ignatius)
    item = ParcelItem.objects.get()
    release_item(item=item, by=ignatius, at=AFTER, reason="mouldy")
    packets_of(line(found, 1).lot, 1)
    top_up(round=found, why="one packet was mouldy", by=ignatius, at=AFTER + A_DAY)
    assert _given(found) == {(item.parcel.member.number, 1)}
    assert not ParcelItem.objects.filter(is_owed=True).exists()


def test_a_cancelled_parcel_is_offered_to_the_next_in_line(found, three, ignatius):
    announced(found, ignatius)
    winner = next(item.parcel for item in living_promises(found) if item.line.line_number == 1)
    cancel_parcel(parcel=winner, by=ignatius, at=AFTER, reason="member left")
    top_up(round=found, why="a member left", by=ignatius, at=AFTER + A_DAY)
    assert winner.member.number not in {number for number, _line in _given(found)}


def test_a_withdrawn_line_gives_nothing_and_says_so(found, three, ignatius):
    withdraw_line(line=line(found, 1), by=ignatius, at=NOON, reason="mouldy")
    run = share_out(found, ignatius)
    assert not [which for _number, which in _given(found) if which == 1]
    reasons = my_result(run, three[0]).reasons
    assert (reasons[0].code, reasons[0].sentence) == ("WITHDRAWN", "This line was withdrawn.")


def test_what_is_packed_stays_packed_when_it_is_shared_out_again(found, three, ignatius, hettie):
    announced(found, ignatius)
    item = living_promises(found)[0]
    take_in_hand(parcel=item.parcel, by=hettie, at=AFTER)
    scan(parcel=item.parcel, number=item.packet.number, by=hettie, at=AFTER)
    packets_of(line(found, 2).lot, 1)
    top_up(round=found, why="late donation", by=ignatius, at=AFTER + A_DAY)
    item.refresh_from_db()
    assert item.packed_at
    assert item.released_at is None


def test_a_posted_list_typed_after_the_closing_takes_part(found, three, tansy, ignatius):
    save_wishes(round=found, member=tansy, by=ignatius, at=AFTER, main=[3])
    share_out(found, ignatius)
    assert (tansy.number, 3) in _given(found)


def test_what_is_owed_is_made_good_by_turns_in_an_even_round_too(ignatius, tansy):
    found = listed_round(ignatius, stored_lot("Primula a", 1), policy="even")
    wish(found, tansy, 1)
    announced(found, ignatius)
    release_item(item=ParcelItem.objects.get(), by=ignatius, at=AFTER, reason="mouldy")
    packets_of(line(found, 1).lot, 1)
    run = top_up(round=found, why="made good", by=ignatius, at=AFTER + A_DAY)
    assert run.policy == "turns"
    assert _given(found) == {(tansy.number, 1)}


@pytest.mark.parametrize("policy", ["turns", "straight", "even"])
def test_the_stored_result_comes_out_of_the_stored_inputs_again(ignatius, policy):
    found = listed_round(ignatius, stored_lot("Primula a", 1), policy=policy)
    for member in MemberFactory.create_batch(3):
        wish(found, member, 1)
    run = share_out(found, ignatius)
    inputs = read_inputs(run.inputs.encode())
    assert canonical_bytes(result_document(inputs, share(inputs))).decode() == run.result


def test_a_members_page_is_told_without_reading_everybodys_lists(
    found, three, ignatius, django_assert_num_queries
):
    run = share_out(found, ignatius)
    run = AllocationRun.objects.select_related("round").defer("inputs", "result").get(pk=run.pk)
    with django_assert_num_queries(3) as asked:
        assert my_result(run, three[0]).reasons
    assert not [query for query in asked.captured_queries if '"inputs"' in query["sql"]]
