"""What is left over, first come first served: to the limit, to the last packet, bars and all."""

import pytest
from django.urls import reverse

from crosses.base.refusal import Refused
from seedbank.bank.models import Packet
from seedbank.exchange.actions.allocation import top_up
from seedbank.exchange.actions.listing import add_line, bar_line, withdraw_line
from seedbank.exchange.actions.surplus import give_surplus_back, set_surplus, take_surplus
from seedbank.exchange.models import AllocationRun, ParcelItem, Surplus
from seedbank.exchange.queries.surplus import lines_left
from tests.factories.bank import packets_of
from tests.factories.exchange import (
    A_DAY,
    AFTER,
    announced,
    line,
    listed_round,
    parcel_of,
    stored_lot,
    wish,
)
from tests.factories.members import HouseholdFactory, MemberFactory

pytestmark = pytest.mark.django_db

OPENS = AFTER + A_DAY
OPEN = OPENS + A_DAY
CLOSES = OPENS + 7 * A_DAY


def with_surplus(found, keeper, packets_each=2):
    announced(found, keeper)
    return set_surplus(
        round=found,
        opens_at=OPENS,
        closes_at=CLOSES,
        packets_each=packets_each,
        by=keeper,
        at=AFTER,
    )


def take(found, member, line_number, at=OPEN, **options):
    return take_surplus(
        round=found, member=member, line_number=line_number, by=member, at=at, **options
    )


@pytest.fixture
def left(ignatius, tansy):
    """Line a with one packet left, b with three; Tansy had one of a by the draw."""
    found = listed_round(ignatius, stored_lot("Primula a", 2), stored_lot("Primula b", 3))
    wish(found, tansy, 1)
    with_surplus(found, ignatius)
    return found


def test_a_packet_taken_is_promised_and_held_in_the_members_parcel(left, tansy):
    item = take(left, tansy, 2)
    assert item.parcel == parcel_of(left, tansy)
    assert (item.is_surplus, item.run, item.packet.lot.name_text) == (True, None, "Primula b")
    assert Packet.objects.get(pk=item.packet_id).state == "held"


def test_who_was_given_nothing_gets_a_parcel_of_their_own(left):
    newcomer = MemberFactory()
    assert take(left, newcomer, 1).parcel.member == newcomer


@pytest.mark.parametrize(
    ("moment", "code"), [(OPENS - A_DAY / 24, "surplus-not-open"), (CLOSES, "surplus-closed")]
)
def test_before_and_after_its_days_nothing_can_be_taken(left, tansy, moment, code):
    with pytest.raises(Refused) as no:
        take(left, tansy, 2, at=moment)
    assert no.value.code == code


def test_a_member_takes_no_more_than_the_limit(ignatius, tansy):
    found = listed_round(ignatius, *(stored_lot(f"Primula {name}", 1) for name in "abc"))
    with_surplus(found, ignatius, packets_each=2)
    take(found, tansy, 1)
    take(found, tansy, 2)
    with pytest.raises(Refused, match="as many as a member may"):
        take(found, tansy, 3)


def test_of_one_line_a_member_has_no_more_than_the_round_allows_by_draw_and_surplus_together(
    left, tansy
):
    with pytest.raises(Refused, match="as many packets of line 1 as the round allows"):
        take(left, tansy, 1)


def test_a_household_counts_as_one_in_the_surplus_too(ignatius):
    found = listed_round(ignatius, stored_lot("Primula a", 3), household_shares_cap=True)
    first, second = MemberFactory.create_batch(2, household=HouseholdFactory())
    with_surplus(found, ignatius)
    take(found, first, 1)
    with pytest.raises(Refused, match="Your household has"):
        take(found, second, 1)


def test_when_the_last_packet_is_gone_it_says_so(left, ignatius):
    first, second = MemberFactory.create_batch(2)
    take(left, first, 1)
    with pytest.raises(Refused, match="last packet of line 1 has just gone"):
        take(left, second, 1)


def test_what_is_kept_for_the_bank_is_not_left_over(ignatius, tansy):
    found = listed_round(ignatius, stored_lot("Primula a", 2), kept_back=2)
    with_surplus(found, ignatius)
    assert not lines_left(found.lines.all())
    with pytest.raises(Refused, match="just gone"):
        take(found, tansy, 1)


def test_a_bar_holds_in_the_surplus_too(left, rollo, ignatius):
    bar_line(
        line=line(left, 2), country=rollo.country, words="needs a permit", by=ignatius, at=AFTER
    )
    with pytest.raises(Refused, match="needs a permit"):
        take(left, rollo, 2)


def test_a_withdrawn_line_is_not_to_be_had(left, tansy, ignatius):
    withdraw_line(line=line(left, 2), by=ignatius, at=AFTER, reason="mouldy")
    assert not lines_left(left.lines.filter(line_number=2))
    with pytest.raises(Refused, match="withdrawn: mouldy"):
        take(left, tansy, 2)


def test_what_is_given_back_may_be_taken_by_another(left, tansy):
    first, second = MemberFactory.create_batch(2)
    give_surplus_back(item=take(left, first, 1), by=first, at=OPEN)
    assert take(left, second, 1).packet.lot.name_text == "Primula a"


def test_what_was_given_by_the_draw_is_not_given_back_here(left, tansy):
    with pytest.raises(Refused, match="given back already"):
        give_surplus_back(item=ParcelItem.objects.get(run__isnull=False), by=tansy, at=OPEN)


def test_a_later_top_up_leaves_what_was_taken_and_does_not_count_it(ignatius, tansy):
    found = listed_round(
        ignatius, stored_lot("Primula a", 1), stored_lot("Primula b", 1), allowance=1
    )
    other = MemberFactory()
    wish(found, tansy, 1)
    wish(found, other, 1)
    with_surplus(found, ignatius)
    winner = ParcelItem.objects.get().parcel.member
    loser = other if winner == tansy else tansy
    taken = take(found, loser, 2)
    packets_of(line(found, 1).lot, 1)
    top_up(round=found, why="late donation", by=ignatius, at=OPEN)
    taken.refresh_from_db()
    assert taken.released_at is None
    assert ParcelItem.objects.filter(parcel__member=loser, line__line_number=1).exists()
    assert '"counts":false' in AllocationRun.objects.latest("position").inputs


def test_a_lot_that_nobody_could_ask_for_goes_to_the_surplus(left, ignatius):
    late = add_line(round=left, lot=stored_lot("Primula z", 1), by=ignatius, at=OPENS)
    assert take(left, MemberFactory(), late.line_number).packet.lot.name_text == "Primula z"
    run = top_up(round=left, why="to see", by=ignatius, at=OPEN)
    assert f'"number":"{late.line_number}"' in run.inputs


def test_the_surplus_waits_for_the_announcement(found, ignatius):
    with pytest.raises(Refused, match="Announce the result first"):
        set_surplus(
            round=found, opens_at=OPENS, closes_at=CLOSES, packets_each=1, by=ignatius, at=AFTER
        )


def test_a_double_tap_takes_one_packet(client, left, time_machine):
    time_machine.move_to(OPEN, tick=False)
    member = MemberFactory()
    client.force_login(member)
    page = client.get(reverse("surplus", args=[left.slug]))
    press = {"line": "2", "client_key": str(page.context["client_key"])}
    for _ in range(2):
        answer = client.post(reverse("surplus-take", args=[left.slug]), press, follow=True)
    assert "A packet of line 2 is yours." in answer.content.decode()
    assert ParcelItem.objects.filter(parcel__member=member).count() == 1


def test_the_page_offers_what_is_left_and_says_how_much_more_may_be_taken(
    client, left, time_machine
):
    time_machine.move_to(OPEN, tick=False)
    client.force_login(MemberFactory())
    text = client.get(reverse("surplus", args=[left.slug])).content.decode()
    assert "1 packet left" in text
    assert "3 packets left" in text
    assert "You may take <strong>2</strong> more." in text


def test_a_line_that_does_not_exist_is_refused_in_words(client, left, time_machine):
    time_machine.move_to(OPEN, tick=False)
    client.force_login(MemberFactory())
    for wrong in ("99", "", "-1", "x"):
        answer = client.post(
            reverse("surplus-take", args=[left.slug]), {"line": wrong}, follow=True
        )
        assert "There is no line" in answer.content.decode()


def test_the_keeper_sets_days_and_limit_and_a_wrong_day_is_said_at_its_field(
    client, found, three, ignatius, time_machine
):
    announced(found, ignatius)
    time_machine.move_to(AFTER, tick=False)
    client.force_login(ignatius)
    address = reverse("surplus-set", args=[found.slug])
    days = {"opens_at": "2026-07-02T19:00", "closes_at": "2026-07-01T19:00", "packets_each": "5"}
    refused = client.post(address, days)
    assert refused.status_code == 422
    assert refused.context["form"].errors["closes_at"] == ["The surplus closes after it opens."]
    assert client.post(address, days | {"closes_at": "2026-07-09T19:00"}).status_code == 302
    assert Surplus.objects.get().packets_each == 5


def test_a_member_cannot_set_the_surplus_nor_give_back_what_is_anothers(client, left, time_machine):
    time_machine.move_to(OPEN, tick=False)
    owner, other = MemberFactory.create_batch(2)
    item = take(left, owner, 2)
    client.force_login(other)
    assert client.post(reverse("surplus-set", args=[left.slug]), {}).status_code == 403
    assert client.post(reverse("surplus-back", args=[left.slug, item.pk])).status_code == 404


def test_before_the_announcement_nobody_is_told_what_is_left(client, found, three, at_noon):
    client.force_login(three[0])
    assert client.get(reverse("surplus", args=[found.slug])).status_code == 403


def test_the_queries_of_the_page_do_not_grow_with_its_lines(
    client, ignatius, time_machine, django_assert_max_num_queries
):
    few = listed_round(ignatius, stored_lot("Primula a"))
    many = listed_round(
        ignatius, *(stored_lot(f"Primula {at}") for at in range(12)), slug="many", name="Many"
    )
    time_machine.move_to(OPEN, tick=False)
    client.force_login(MemberFactory())
    counts = []
    for found in (few, many):
        with_surplus(found, ignatius)
        with django_assert_max_num_queries(60) as asked:
            client.get(reverse("surplus", args=[found.slug]))
        counts.append(len(asked.captured_queries))
    assert counts[0] == counts[1]
