"""What a parcel's destination is known to ask, and that a held parcel needs a named reason."""

import datetime

import pytest

from crosses.base.refusal import Refused
from crosses.models import Harvest
from seedbank.bank.models import CautionRule, Lot
from seedbank.exchange.actions.picking import scan, take_in_hand
from seedbank.exchange.actions.posting import close_parcel, reopen_parcel
from seedbank.exchange.models import ParcelItem
from seedbank.exchange.queries.papers import papers_of
from tests.factories.bank import packets_of
from tests.factories.crosses import make_cross, make_plant
from tests.factories.exchange import AFTER, announced, listed_round, parcel_of, stored_lot, wish
from tests.factories.members import MemberFactory

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("after_closing")]

USA = "USA: small lots of seed, limits"
RULE = {
    "kind": "certificate",
    "level": "hold",
    "words": "A certificate goes with it.",
    "source": "invented order 7",
    "checked_on": datetime.date(2026, 5, 1),
    "checked_by": "S. Umbrage",
}


@pytest.fixture(autouse=True)
def one_rule():
    """One rule for Australia, in place of the starting list."""
    CautionRule.objects.all().delete()
    CautionRule.objects.create(rule="Australia: certificate", destinations=["AU"], **RULE)


def _parcel(keeper, packer, member, *lots):
    found = listed_round(keeper, *lots)
    wish(found, member, *range(1, len(lots) + 1))
    parcel = take_in_hand(parcel=parcel_of(announced(found, keeper), member), by=packer, at=AFTER)
    for item in ParcelItem.objects.filter(parcel=parcel):
        scan(parcel=parcel, number=item.packet.number, by=packer, at=AFTER)
    return parcel


@pytest.fixture
def abroad(ignatius, hettie, rollo):
    """Rollo's parcel to Australia, packed and in Hettie's hand."""
    return _parcel(ignatius, hettie, rollo, stored_lot("Primula veris"))


def test_a_rule_of_the_destination_stands_on_the_parcel_with_source_day_and_reader(
    abroad, hettie, signed_in
):
    page = signed_in(hettie).get(f"/parcels/{abroad.number}/").content.decode()
    for words in (
        "holds the parcel until somebody gives a reason",
        "Australia: certificate.",
        "A certificate goes with it.",
        "invented order 7 · read 1 May 2026 by S. Umbrage",
        "must check with the plant health authority of the destination",
    ):
        assert words in page


def test_a_held_parcel_is_not_closed_without_a_reason(abroad, hettie):
    with pytest.raises(Refused, match="Held: Australia: certificate") as no:
        close_parcel(parcel=abroad, by=hettie, at=AFTER)
    assert (no.value.code, no.value.field) == ("parcel-held", "held_reason")


def test_the_reason_its_giver_and_the_rules_as_they_stood_are_kept(abroad, hettie):
    closed = close_parcel(parcel=abroad, by=hettie, at=AFTER, held_reason="Certificate enclosed.")
    CautionRule.objects.update(words="Something else by now.")
    closed.refresh_from_db()
    assert (closed.held_reason, closed.held_answered_by) == ("Certificate enclosed.", hettie)
    assert "It concerns 1 packet. (invented order 7, read 2026-05-01)" in closed.held_by_rules
    reopened = reopen_parcel(parcel=closed, by=hettie, at=AFTER)
    assert (reopened.held_reason, reopened.held_answered_by) == ("", None)
    assert reopened.history.filter(held_reason="Certificate enclosed.").exists()


def test_the_reason_is_asked_for_on_the_page_and_then_shown_there(abroad, hettie, signed_in):
    client, page = signed_in(hettie), f"/parcels/{abroad.number}/"
    refused = client.post(f"{page}close/")
    assert refused.status_code == 422
    assert "Held: Australia" in str(refused.context["close_form"].errors["held_reason"])
    client.post(f"{page}close/", {"held_reason": "Certificate no. 4 is enclosed."})
    shown = client.get(page).content.decode()
    assert "by Hettie Quagmire" in shown
    assert "Certificate no. 4 is enclosed." in shown


def test_a_parcel_at_home_is_closed_without_one(ignatius, hettie, tansy):
    parcel = _parcel(ignatius, hettie, tansy, stored_lot("Primula veris"))
    assert close_parcel(parcel=parcel, by=hettie, at=AFTER).held_reason == ""
    assert "No rule in this list matched (1 rules looked at)." in papers_of(parcel).standing


def test_packets_over_the_small_lots_limits_are_named(ignatius, hettie):
    """USA: at most 50 seeds or at most 10 g a packet; source in fixtures/cautions.json."""
    CautionRule.objects.create(
        **RULE | {"kind": "small_lots"},
        rule=USA,
        destinations=["US"],
        most_packets=50,
        most_seeds=50,
        most_grams=10,
    )
    heavy = stored_lot("Primula a", packets=0, thousand_seed_weight_grams=500.0)
    light = stored_lot("Primula b", packets=0, thousand_seed_weight_grams=0.8)
    over = packets_of(heavy, 1, seeds_each=60)[0]
    packets_of(light, 1, seeds_each=60)
    parcel = _parcel(ignatius, hettie, MemberFactory(country="US"), heavy, light)
    (note,) = papers_of(parcel).holds
    assert (note.rule, note.packets) == (USA, (over.number,))


def _asks_parentage(ignatius, hettie, rollo, lot) -> bool:
    CautionRule.objects.all().delete()
    CautionRule.objects.create(**RULE | {"kind": "parentage"}, rule="Parentage")
    return bool(papers_of(_parcel(ignatius, hettie, rollo, lot)).notes)


@pytest.mark.parametrize(
    ("name_text", "asks"),
    [
        ("Primula vulgaris × P. veris", False),
        ("Primula 'Smoke' × P. veris", True),
        ("Primula veris", False),
    ],
)
def test_a_hybrid_without_both_species_is_asked_for_its_parentage(
    ignatius, hettie, rollo, name_text, asks
):
    assert _asks_parentage(ignatius, hettie, rollo, stored_lot(name_text)) is asks


@pytest.mark.parametrize(
    ("pollen", "asks"), [("Primula elatior", False), ("Primula 'Lemon'", True)]
)
def test_a_recorded_cross_is_judged_by_its_parents_and_not_by_the_lots_name(
    ignatius, hettie, rollo, tansy, pollen, asks
):
    cross = make_cross(
        tansy,
        seed_parent=make_plant(tansy, "Primula veris"),
        pollen_parent=make_plant(tansy, pollen),
    )
    harvest = Harvest.objects.create(
        number="H000001-00",
        cross=cross,
        harvested_on=datetime.date(2025, 7, 22),
        logged_at=AFTER,
        logged_by=tansy,
        seeds=50,
        seed_counting="counted",
    )
    lot = stored_lot("Primula 'Oddwater' seedlings", harvest=harvest)
    assert _asks_parentage(ignatius, hettie, rollo, lot) is asks


@pytest.mark.parametrize(
    ("facts", "asks"),
    [
        ({"wild_permit": "N-7"}, False),
        ({}, True),
        ({"year": 2013}, False),
        ({"wild_country": "AU"}, False),
    ],
)
def test_wild_seed_abroad_is_asked_for_its_permit(ignatius, hettie, rollo, facts, asks):
    """In force since 12 October 2014; the country of origin itself may have its seed back."""
    CautionRule.objects.all().delete()
    CautionRule.objects.create(**RULE | {"kind": "wild_collected"}, rule="Wild seed")
    lot = stored_lot("Primula veris", **{"origin": Lot.Origin.WILD, "year": 2020, **facts})
    assert bool(papers_of(_parcel(ignatius, hettie, rollo, lot)).notes) is asks


def test_the_page_asks_the_same_however_many_packets_and_rules_there_are(
    ignatius, hettie, rollo, signed_in, django_assert_max_num_queries
):
    parcel = _parcel(ignatius, hettie, rollo, *(stored_lot(f"Primula {n}") for n in "abcdefgh"))
    client = signed_in(hettie)
    client.get(f"/parcels/{parcel.number}/")
    with django_assert_max_num_queries(36):
        client.get(f"/parcels/{parcel.number}/")
