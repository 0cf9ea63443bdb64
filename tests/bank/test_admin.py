"""The administrator looks at the bank; movements and what follows from them cannot be typed."""

import pytest
from django.urls import reverse

from tests.factories.bank import DonationLineFactory, LotFactory, PlaceFactory, packets_of

pytestmark = pytest.mark.django_db


def test_every_list_opens_and_can_be_searched(solveig, signed_in, django_assert_max_num_queries):
    for _ in range(10):
        packets_of(LotFactory(owner=None), 2)
        DonationLineFactory()
    client = signed_in(solveig)
    for page in ("lot", "packet", "place", "donation"):
        with django_assert_max_num_queries(12):
            answer = client.get(reverse(f"admin:bank_{page}_changelist"), {"q": "Primula"})
        assert answer.status_code == 200


def test_a_packet_is_seen_with_its_movements_and_not_changed(solveig, signed_in):
    packet = packets_of(LotFactory(owner=None))[0]
    client = signed_in(solveig)
    url = reverse("admin:bank_packet_change", args=[packet.pk])
    page = client.get(url).text
    assert packet.number in page
    assert "made" in page
    assert client.post(url, {"state": "sent"}).status_code == 403
    assert client.get(reverse("admin:bank_packet_add")).status_code == 403
    assert client.get(reverse("admin:bank_packet_delete", args=[packet.pk])).status_code == 403


def test_a_lots_correction_at_the_desk_is_in_its_history(solveig, tansy, signed_in):
    lot = LotFactory(raised_by=tansy)
    fields = {
        "name_text": "Primula elatior",
        "raised_by": tansy.pk,
        "owner": tansy.pk,
        "origin": "garden",
        "year": 2025,
        "seed_counting": "not_yet",
        "visibility": "society",
    }
    signed_in(solveig).post(reverse("admin:bank_lot_change", args=[lot.pk]), fields)
    lot.refresh_from_db()
    assert lot.name_text == "Primula elatior"
    assert lot.history.first().history_user == solveig


def test_a_donation_is_seen_with_its_lines(solveig, signed_in):
    line = DonationLineFactory()
    page = signed_in(solveig).get(reverse("admin:bank_donation_change", args=[line.donation_id]))
    assert page.status_code == 200
    assert line.lot.number in page.text


def test_a_place_is_changed_at_the_desk(solveig, signed_in):
    place = PlaceFactory()
    signed_in(solveig).post(
        reverse("admin:bank_place_change", args=[place.pk]), {"code": "B-01", "walk_order": 7}
    )
    place.refresh_from_db()
    assert (place.code, place.walk_order) == ("B-01", 7)
