"""Seed is offered, arrives, and every line gets its answer, which the donor sees."""

import io

import pypdf
import pytest
from django.urls import reverse

from crosses.base.refusal import Refused
from seedbank.bank.actions.donation import answer_line, offer, withdraw_donation
from seedbank.bank.models import Donation, Lot
from tests.factories.bank import LotFactory, PlaceFactory, packets_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def drawer(db):
    return PlaceFactory(code="A-03")


@pytest.fixture
def lot(cosmo):
    """Four packets that Cosmo has in hand."""
    lot = LotFactory(raised_by=cosmo, name_text="Primula vulgaris")
    packets_of(lot, 4)
    return lot


@pytest.fixture
def donation(lot, cosmo, at):
    return offer(donor=cosmo, by=cosmo, at=at, lines=[(lot, 3)])


def test_a_donor_offers_packets_of_their_own_lots(lot, cosmo, signed_in):
    answer = signed_in(cosmo).post(
        reverse("donation-offer"), {f"packets_{lot.number}": "3", "note": "from the north wall"}
    )
    donation = Donation.objects.get()
    line = donation.lines.get()
    assert answer.url == reverse("donation-detail", args=[donation.number])
    assert (donation.donor, line.lot, line.packets_offered, line.answer) == (
        cosmo,
        lot,
        3,
        "waiting",
    )


def test_more_packets_than_are_in_hand_are_refused_at_their_field(lot, cosmo, signed_in):
    answer = signed_in(cosmo).post(
        reverse("donation-offer"), {f"packets_{lot.number}": "5", "note": "from the north wall"}
    )
    assert answer.context["form"].errors[f"packets_{lot.number}"] == [
        f"You have 4 packets of {lot.number} in hand."
    ]
    assert "from the north wall" in answer.text
    assert not Donation.objects.exists()


def test_packets_offered_already_are_not_offered_again(donation, lot, cosmo, at):
    with pytest.raises(Refused, match="of which 3 are offered already"):
        offer(donor=cosmo, by=cosmo, at=at, lines=[(lot, 2)])
    offer(donor=cosmo, by=cosmo, at=at, lines=[(lot, 1)])


def test_an_empty_offer_is_none(lot, cosmo, signed_in):
    answer = signed_in(cosmo).post(reverse("donation-offer"), {"note": "nothing"})
    assert "one packet or more" in answer.context["form"].non_field_errors()[0]


def test_a_double_tap_makes_one_offer(lot, cosmo, signed_in):
    fields = {f"packets_{lot.number}": "1", "client_key": "8b9a1f5e-3f0b-4a37-9a55-0c6a5b9a8f11"}
    client = signed_in(cosmo)
    first, second = (client.post(reverse("donation-offer"), fields) for _ in range(2))
    assert first.url == second.url
    assert Donation.objects.count() == 1


def test_nobody_offers_anothers_seed(lot, tansy, at):
    with pytest.raises(Refused, match="is not your lot"):
        offer(donor=tansy, by=tansy, at=at, lines=[(lot, 1)])


def test_the_sheet_for_the_envelope_lists_what_is_in_it(donation, lot, cosmo, signed_in):
    answer = signed_in(cosmo).get(reverse("donation-sheet", args=[donation.number]))
    text = pypdf.PdfReader(io.BytesIO(answer.content)).pages[0].extract_text()
    for words in (donation.number, lot.number, "Primula vulgaris", "Cosmo Dribblethwaite"):
        assert words in text


def test_accepted_packets_lie_in_the_store_in_number_order(donation, lot, ignatius, at, drawer):
    line = answer_line(
        line=donation.lines.get(),
        by=ignatius,
        at=at,
        answer="accepted",
        packets_received=3,
        place=drawer,
    )
    assert (line.answer, line.packets_received) == ("accepted", 3)
    states = list(lot.packets.order_by("number").values_list("state", "place__code"))
    assert states == [("in_store", "A-03")] * 3 + [("with_member", None)]
    donation.refresh_from_db()
    assert (donation.received_at, donation.received_by) == (at, ignatius)


def test_the_packets_that_were_scanned_are_the_ones_received(
    donation, lot, ignatius, signed_in, drawer
):
    last = lot.packets.last()
    prefix = f"line-{donation.lines.get().pk}"
    signed_in(ignatius).post(
        reverse("donation-receive", args=[donation.number]),
        {
            f"{prefix}-answer": "accepted",
            f"{prefix}-numbers": last.number,
            f"{prefix}-place": "a-03",
        },
    )
    last.refresh_from_db()
    assert last.state == "in_store"
    assert donation.lines.get().packets_received == 1


def test_a_scanned_packet_of_another_lot_is_refused_at_its_field(
    donation, cosmo, ignatius, signed_in, drawer
):
    stray = packets_of(LotFactory(raised_by=cosmo))[0]
    prefix = f"line-{donation.lines.get().pk}"
    answer = signed_in(ignatius).post(
        reverse("donation-receive", args=[donation.number]),
        {
            f"{prefix}-answer": "accepted",
            f"{prefix}-numbers": stray.number,
            f"{prefix}-place": "A-03",
        },
    )
    ((_line, form),) = answer.context["forms"]
    assert f"{stray.number} is not a packet of" in form.errors["numbers"][0]
    stray.refresh_from_db()
    assert stray.state == "with_member"


def test_right_lines_are_kept_while_a_wrong_one_is_shown_again(
    cosmo, ignatius, at, signed_in, drawer
):
    lots = [LotFactory(raised_by=cosmo) for _ in range(2)]
    for each in lots:
        packets_of(each, 2)
    donation = offer(donor=cosmo, by=cosmo, at=at, lines=[(each, 2) for each in lots])
    good, bad = donation.lines.all()
    answer = signed_in(ignatius).post(
        reverse("donation-receive", args=[donation.number]),
        {
            f"line-{good.pk}-answer": "accepted",
            f"line-{good.pk}-packets_received": "2",
            f"line-{good.pk}-place": "A-03",
            f"line-{bad.pk}-answer": "declined",
            f"line-{bad.pk}-reason": "",
        },
    )
    ((line, form),) = answer.context["forms"]
    assert line == bad
    assert form.errors["reason"] == ["Say why it is declined; the donor reads it."]
    good.refresh_from_db()
    assert good.answer == "accepted"


def test_the_donor_reads_why_a_line_was_declined(donation, cosmo, ignatius, at, signed_in):
    answer_line(
        line=donation.lines.get(), by=ignatius, at=at, answer="declined", reason="damp and mouldy"
    )
    page = signed_in(cosmo).get(reverse("donation-detail", args=[donation.number])).text
    assert "declined" in page
    assert "damp and mouldy" in page


def test_a_line_is_answered_once(donation, ignatius, at):
    line = donation.lines.get()
    answer_line(line=line, by=ignatius, at=at, answer="not_received")
    with pytest.raises(Refused, match="answered already"):
        answer_line(line=line, by=ignatius, at=at, answer="declined", reason="late")


def test_more_packets_than_the_donor_has_do_not_arrive(donation, lot, ignatius, at, drawer):
    with pytest.raises(Refused) as no:
        answer_line(
            line=donation.lines.get(),
            by=ignatius,
            at=at,
            answer="accepted",
            packets_received=5,
            place=drawer,
        )
    assert no.value.field == "packets_received"
    assert lot.packets.filter(state="in_store").count() == 0


def test_an_offer_is_taken_back_until_the_bank_has_seed_of_it(
    donation, cosmo, ignatius, at, drawer
):
    answer_line(
        line=donation.lines.get(),
        by=ignatius,
        at=at,
        answer="accepted",
        packets_received=1,
        place=drawer,
    )
    with pytest.raises(Refused, match="accepted seed"):
        withdraw_donation(donation=donation, by=cosmo, at=at, reason="changed my mind")


def test_seed_without_records_gets_a_lot_of_the_bank(cosmo, ignatius, signed_in, drawer):
    signed_in(ignatius).post(
        reverse("donation-by-hand"),
        {
            "donor": "0002 Cosmo Dribblethwaite",
            "name_text": "Primula denticulata",
            "year": 2025,
            "origin": "garden",
            "packets": 6,
            "seeds_each": 40,
            "place": "A-03",
        },
    )
    lot = Lot.objects.get()
    assert (lot.owner, lot.raised_by) == (None, cosmo)
    assert lot.packets.filter(state="in_store", place=drawer).count() == 6
    assert lot.donation_lines.get().answer == "accepted"


def test_an_unknown_donor_is_told_at_the_field(ignatius, signed_in, drawer):
    answer = signed_in(ignatius).post(
        reverse("donation-by-hand"),
        {
            "donor": "Nobody Atall",
            "name_text": "Primula denticulata",
            "year": 2025,
            "origin": "garden",
            "packets": 6,
            "seeds_each": 40,
            "place": "A-03",
        },
    )
    assert answer.context["form"].errors["donor"] == [
        "There is no such member; type the member number."
    ]
    assert "Primula denticulata" in answer.text
    assert not Lot.objects.exists()


def test_a_donation_is_seen_by_its_donor_and_the_keeper_alone(
    donation, cosmo, tansy, ignatius, signed_in
):
    url = reverse("donation-detail", args=[donation.number])
    assert signed_in(cosmo).get(url).status_code == 200
    assert signed_in(ignatius).get(url).status_code == 200
    assert signed_in(tansy).get(url).status_code == 404


def test_only_the_keeper_receives(donation, cosmo, tansy, hettie, signed_in):
    url = reverse("donation-receive", args=[donation.number])
    assert signed_in(cosmo).get(url).status_code == 403
    assert signed_in(tansy).get(url).status_code == 404
    assert signed_in(hettie).get(reverse("donation-by-hand")).status_code == 403


def test_a_donors_list_shows_only_their_own(donation, cosmo, tansy, signed_in):
    assert list(signed_in(tansy).get(reverse("donation-list")).context["page_obj"]) == []
    assert list(signed_in(cosmo).get(reverse("donation-list")).context["page_obj"]) == [donation]


def test_the_keepers_list_costs_no_more_for_more_donations(
    ignatius, at, signed_in, django_assert_max_num_queries
):
    client = signed_in(ignatius)
    for _ in range(10):
        lot = LotFactory()
        packets_of(lot, 2)
        offer(donor=lot.owner, by=lot.owner, at=at, lines=[(lot, 1)])
    with django_assert_max_num_queries(8):
        assert len(client.get(reverse("donation-list")).context["page_obj"]) == 10


def test_accepted_seed_needs_a_number_and_a_place(donation, ignatius, signed_in, drawer):
    prefix = f"line-{donation.lines.get().pk}"
    url = reverse("donation-receive", args=[donation.number])
    client = signed_in(ignatius)
    answer = client.post(url, {f"{prefix}-answer": "accepted", f"{prefix}-packets_received": "2"})
    assert answer.context["forms"][0][1].errors["place"] == ["Say where in the store they are put."]
    answer = client.post(url, {f"{prefix}-answer": "accepted", f"{prefix}-place": "A-03"})
    assert "how many packets came" in answer.context["forms"][0][1].errors["packets_received"][0]


def test_a_mistyped_packet_number_is_told_where_it_was_scanned(
    donation, lot, ignatius, signed_in, drawer
):
    first = lot.packets.first().number
    mistyped = first[:-1] + str((int(first[-1]) + 1) % 10)
    prefix = f"line-{donation.lines.get().pk}"
    answer = signed_in(ignatius).post(
        reverse("donation-receive", args=[donation.number]),
        {f"{prefix}-answer": "accepted", f"{prefix}-place": "A-03", f"{prefix}-numbers": mistyped},
    )
    assert "mistyped" in answer.context["forms"][0][1].errors["numbers"][0]
    assert not lot.packets.filter(state="in_store").exists()


def test_a_lot_stands_in_an_offer_once(lot, cosmo, at):
    with pytest.raises(Refused, match="once"):
        offer(donor=cosmo, by=cosmo, at=at, lines=[(lot, 1), (lot, 2)])
