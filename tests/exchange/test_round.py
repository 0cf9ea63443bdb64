"""Opening a round, and what of it stands still once members choose by it."""

import datetime
import hashlib

import pytest

from crosses.base.refusal import Refused
from seedbank.exchange.actions.round import change_round
from seedbank.exchange.models import Round
from seedbank.exchange.queries.round import allowance_of, stage_of
from tests.conftest import NOON
from tests.factories.bank import DonationFactory, DonationLineFactory
from tests.factories.exchange import A_DAY, CLOSES, OPENS, listed_round, make_round

pytestmark = pytest.mark.django_db

RULES = {
    "name": "Seed exchange 2026",
    "slug": "seed-2026",
    "list_opens_at": "2026-06-01T08:00",
    "wishes_close_at": "2026-06-14T20:00",
    "allowance": 20,
    "donor_extra": 10,
    "donor_from_lots": 1,
    "reserves": 10,
    "copies_per_line": 1,
    "kept_back": 0,
    "policy": "turns",
    "head_start_passes": 0,
    "public_value_name": "State lottery of 20 June 2026",
}


def test_a_keeper_opens_a_round_and_its_draw_is_committed_to(ignatius, signed_in):
    answer = signed_in(ignatius).post("/rounds/open/", RULES)
    opened = Round.objects.get()
    assert answer.url == "/rounds/seed-2026/"
    assert opened.draw_commitment == hashlib.sha256(bytes.fromhex(opened.draw_secret)).hexdigest()
    assert opened.wishes_close_at == datetime.datetime(2026, 6, 14, 19, tzinfo=datetime.UTC)


def test_members_read_rules_and_commitment_but_not_the_secret(ignatius, tansy, signed_in):
    opened = make_round(ignatius)
    page = signed_in(tansy).get("/rounds/seed-2026/").content.decode()
    assert opened.draw_commitment in page
    assert opened.draw_secret not in page


def test_two_rounds_have_two_secrets(ignatius):
    assert make_round(ignatius).draw_secret != make_round(ignatius, slug="other").draw_secret


def test_the_secret_is_in_no_history(ignatius):
    opened = make_round(ignatius)
    assert opened.draw_secret not in str(opened.history.values())


@pytest.mark.parametrize(
    ("wrong", "field", "words"),
    [
        (
            {"wishes_close_at": "2026-05-01T08:00"},
            "wishes_close_at",
            "Wishes close after the list opens.",
        ),
        (
            {"donations_close_at": "2026-06-02T08:00"},
            "donations_close_at",
            "Donations close before",
        ),
        ({"posting_from": "2026-06-01"}, "posting_from", "Parcels are posted after wishes close."),
    ],
)
def test_dates_out_of_order_are_refused_at_their_field_and_the_rest_is_kept(
    wrong, field, words, ignatius, signed_in
):
    answer = signed_in(ignatius).post("/rounds/open/", RULES | wrong)
    form = answer.context["form"]
    assert words in form.errors[field][0]
    assert form["name"].value() == RULES["name"]
    assert not Round.objects.exists()


def test_a_short_name_is_used_once(ignatius, signed_in):
    make_round(ignatius)
    answer = signed_in(ignatius).post("/rounds/open/", RULES)
    assert "short name already" in answer.context["form"].errors["slug"][0]


def test_a_member_cannot_open_a_round(tansy, signed_in):
    assert signed_in(tansy).post("/rounds/open/", RULES).status_code == 403
    assert not Round.objects.exists()


def test_a_rule_members_chose_by_stands_once_the_list_is_out(ignatius):
    found = listed_round(ignatius)
    with pytest.raises(Refused) as no:
        change_round(round=found, by=ignatius, at=NOON, why="", allowance=5)
    assert no.value.field == "allowance"


def test_the_closing_can_be_put_off_while_the_list_is_out(ignatius):
    found = listed_round(ignatius)
    later = CLOSES + A_DAY
    assert change_round(round=found, by=ignatius, at=NOON, why="Post strike", wishes_close_at=later)
    found.refresh_from_db()
    assert found.wishes_close_at == later
    assert found.history.first().history_change_reason == "Post strike"


def test_the_keeper_changes_rules_on_the_page_before_publication(ignatius, signed_in):
    make_round(ignatius)
    rules = {name: value for name, value in RULES.items() if name != "slug"}
    answer = signed_in(ignatius).post(
        "/rounds/seed-2026/change/", rules | {"allowance": 15, "why": "less seed than last year"}
    )
    assert answer.status_code == 302
    assert Round.objects.get().allowance == 15


@pytest.mark.parametrize(
    ("moment", "code"),
    [(OPENS - A_DAY, "listed"), (NOON, "wishing"), (CLOSES, "sharing")],
)
def test_a_listed_round_passes_through_its_stages_by_the_clock(moment, code, ignatius):
    assert stage_of(listed_round(ignatius), moment).code == code


def _donation(donor, *, offered_at, answer="accepted", lots=1):
    donation = DonationFactory(donor=donor, offered_at=offered_at)
    facts = {"answered_at": NOON, "answer": answer}
    if answer == "declined":
        facts["declined_reason"] = "mouldy"
    for _ in range(lots):
        DonationLineFactory(donation=donation, **facts)


def test_accepted_lots_of_the_last_year_make_a_donor(ignatius, cosmo):
    found = make_round(ignatius, donor_from_lots=2)
    _donation(cosmo, offered_at=OPENS - 60 * A_DAY, lots=2)
    allowance = allowance_of(found, cosmo)
    assert (allowance.is_donor, allowance.packets) == (True, 30)
    assert allowance.words == "You gave 2 lots, so you may have 30 packets."


@pytest.mark.parametrize(
    "facts",
    [
        {"offered_at": OPENS - 400 * A_DAY},
        {"offered_at": OPENS + A_DAY},
        {"offered_at": OPENS - A_DAY, "answer": "declined"},
        {"offered_at": OPENS - A_DAY, "answer": "not_received"},
    ],
)
def test_old_late_or_declined_seed_makes_no_donor(facts, ignatius, cosmo):
    found = make_round(ignatius)
    _donation(cosmo, **facts)
    assert not allowance_of(found, cosmo).is_donor


def test_the_list_of_rounds_is_read_by_every_member(ignatius, tansy, signed_in):
    assert "There has been no exchange yet" in signed_in(tansy).get("/rounds/").content.decode()
    make_round(ignatius)
    assert "Seed exchange 2026" in signed_in(tansy).get("/rounds/").content.decode()


def test_a_country_may_have_an_allowance_of_its_own_and_a_donor_there_more(
    ignatius, rollo, tansy, signed_in
):
    answer = signed_in(ignatius).post(
        "/rounds/open/", RULES | {"country_allowances": "AU 8\nnew zealand 30"}
    )
    assert answer.status_code == 302
    found = Round.objects.get()
    assert found.country_allowances == {"AU": 8, "NZ": 30}
    assert allowance_of(found, rollo).words == "You in Australia may have 8 packets."
    assert allowance_of(found, tansy).packets == found.allowance
    _donation(rollo, offered_at=found.list_opens_at - A_DAY)
    assert allowance_of(found, rollo).packets == 8 + found.donor_extra
    page = signed_in(tansy).get(f"/rounds/{found.slug}/").content.decode()
    assert "in Australia 8; in New Zealand 30" in page


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("AU", "“AU” is not a country and a number"),
        ("Atlantis 8", "“Atlantis 8” is not a country"),
        ("AU 8\nAustralia 9", "Australia stands there twice"),
        ("AU -8", "is not a country and a number"),
    ],
)
def test_a_wrong_allowance_by_country_is_told_and_stays_typed(typed, words, ignatius, signed_in):
    answer = signed_in(ignatius).post("/rounds/open/", RULES | {"country_allowances": typed})
    form = answer.context["form"]
    assert words in form.errors["country_allowances"][0]
    assert form["country_allowances"].value() == typed


def test_what_a_round_costs_is_read_by_members_and_stands_once_the_list_is_out(
    ignatius, tansy, signed_in
):
    found = listed_round(ignatius, price_text="5 pounds a parcel, with the order")
    page = signed_in(tansy).get(f"/rounds/{found.slug}/").content.decode()
    assert "5 pounds a parcel, with the order" in page
    with pytest.raises(Refused) as no:
        change_round(round=found, by=ignatius, at=NOON, why="", price_text="6 pounds")
    assert no.value.field == "price_text"
