"""Correcting and withdrawing a lot, taking an offer back, and the words a lot is described in."""

import pytest
from django.urls import reverse

from seedbank.bank.actions.donation import offer
from seedbank.bank.queries import origin_in_words, seeds_in_words, storage_in_words
from tests.factories.bank import LotFactory, packet_in_store, packets_of

pytestmark = pytest.mark.django_db

FIELDS = {
    "name_text": "Primula elatior",
    "year": 2025,
    "origin": "garden",
    "seed_counting": "counted",
    "seeds": 80,
    "visibility": "society",
    "why": "it flowered yellow",
}


def test_a_lot_is_corrected_on_its_page_with_the_reason(tansy, signed_in):
    lot = LotFactory(raised_by=tansy)
    signed_in(tansy).post(reverse("lot-change", args=[lot.number]), FIELDS)
    lot.refresh_from_db()
    assert (lot.name_text, lot.seeds) == ("Primula elatior", 80)
    assert lot.history.first().history_change_reason == "it flowered yellow"


def test_a_correction_without_a_reason_is_told_at_its_field(tansy, signed_in):
    lot = LotFactory(raised_by=tansy)
    answer = signed_in(tansy).post(reverse("lot-change", args=[lot.number]), FIELDS | {"why": ""})
    assert answer.context["form"].errors["why"]
    assert "Primula elatior" in answer.text


def test_where_it_grew_wild_belongs_to_wild_seed(tansy, signed_in):
    lot = LotFactory(raised_by=tansy)
    answer = signed_in(tansy).post(
        reverse("lot-change", args=[lot.number]), FIELDS | {"wild_where": "Glen Doll"}
    )
    assert "collected in the wild" in answer.context["form"].non_field_errors()[0]


def test_a_lot_is_withdrawn_on_its_page_with_the_reason(tansy, signed_in):
    lot = LotFactory(raised_by=tansy)
    signed_in(tansy).post(reverse("lot-withdraw", args=[lot.number]), {"reason": "mixed up"})
    lot.refresh_from_db()
    assert (lot.withdrawn_by, lot.withdrawn_reason) == (tansy, "mixed up")


def test_nothing_more_is_made_or_written_of_a_withdrawn_lot(tansy, signed_in):
    lot = LotFactory(raised_by=tansy)
    client = signed_in(tansy)
    client.post(reverse("lot-withdraw", args=[lot.number]), {"reason": "mixed up"})
    for page, fields in (("packets-add", {"how_many": 1, "seeds_each": 5}), ("lot-change", FIELDS)):
        answer = client.post(reverse(page, args=[lot.number]), fields)
        assert "has been withdrawn" in answer.context["form"].non_field_errors()[0]


def test_an_offer_is_taken_back_on_its_page(cosmo, tansy, at, signed_in):
    lot = LotFactory(raised_by=cosmo)
    packets_of(lot)
    donation = offer(donor=cosmo, by=cosmo, at=at, lines=[(lot, 1)])
    url = reverse("donation-withdraw", args=[donation.number])
    assert signed_in(tansy).post(url, {"reason": "mischief"}).status_code == 404
    signed_in(cosmo).post(url, {"reason": "the mice had it"})
    donation.refresh_from_db()
    assert donation.withdrawn_reason == "the mice had it"


def test_own_measures_are_asked_for_one_by_one(tansy, signed_in):
    lot = LotFactory(raised_by=tansy)
    packets_of(lot)
    answer = signed_in(tansy).get(
        reverse("packets-labels", args=[lot.number]), {"sheet": "own", "columns": 3, "rows": 8}
    )
    assert set(answer.context["form"].errors) == {"width_mm", "height_mm", "left_mm", "top_mm"}


def test_a_first_place_beyond_the_sheet_is_told_at_its_field(tansy, signed_in):
    lot = LotFactory(raised_by=tansy)
    packets_of(lot)
    answer = signed_in(tansy).get(
        reverse("packets-labels", args=[lot.number]), {"sheet": "24 of 70 × 37 mm", "start_at": 25}
    )
    assert answer.context["form"].errors["start_at"] == ["This sheet has 24 places."]


def test_an_unknown_place_stores_nothing(ignatius, signed_in):
    packet = packet_in_store()
    answer = signed_in(ignatius).post(
        reverse("packet-store"), {"of_bank": "bank", "place": "Z-99", "packets": packet.number}
    )
    assert answer.context["form"].errors["place"] == [
        "The bank has no place Z-99. Add it to the places first."
    ]
    assert packet.number in answer.text


@pytest.mark.parametrize(
    ("facts", "words"),
    [
        ({"origin": "garden"}, "garden, open pollinated"),
        ({"origin": "wild"}, "collected in the wild, no permit on record"),
        (
            {
                "origin": "wild",
                "wild_where": "Glen Doll",
                "wild_country": "GB",
                "wild_permit": "17/2025",
            },
            "collected in the wild (Glen Doll, United Kingdom), permit 17/2025",
        ),
    ],
)
def test_the_origin_is_said_in_words_with_its_permit(facts, words):
    assert origin_in_words(LotFactory.build(**facts)) == words


@pytest.mark.parametrize(
    ("facts", "words"),
    [
        ({}, "not counted yet"),
        ({"seed_counting": "counted", "seeds": 80}, "80, counted"),
        (
            {"seed_counting": "sampled", "seeds": 80, "seeds_low": 70, "seeds_high": 90},
            "about 80 (between 70 and 90, 95 %), reckoned from weighed samples",
        ),
        ({"seed_counting": "guessed", "seeds": 80}, "about 80, guessed"),
    ],
)
def test_the_number_of_seeds_is_never_said_without_how_it_was_found(facts, words):
    assert seeds_in_words(LotFactory.build(**facts)) == words


def test_how_seed_is_kept_is_said_with_its_units(tansy):
    lot = LotFactory(
        raised_by=tansy, storage_temperature_celsius="4.0", storage_moisture_percent="7.5"
    )
    lot.refresh_from_db()
    assert storage_in_words(lot) == "4 °C, 7.5 % seed moisture"
