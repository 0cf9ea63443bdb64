"""Making the list: numbers that stand for good, and what each line says."""

import csv
import io

import pytest

from crosses.base.refusal import Refused
from crosses.base.visibility import Visibility
from crosses.models import DestinationFlag, Taxon
from seedbank.bank.models import Lot
from seedbank.exchange.actions.listing import (
    add_line,
    add_lines,
    bar_line,
    change_line,
    publish_list,
    remove_line,
    withdraw_line,
)
from seedbank.exchange.models import ListLine
from tests.conftest import NOON, TODAY
from tests.factories.bank import LotFactory
from tests.factories.crosses import make_cross, make_plant
from tests.factories.exchange import line, listed_round, make_round, stored_lot, wish

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


def _names(found):
    lines = ListLine.objects.filter(round=found).order_by("line_number")
    return [(each.line_number, each.lot.name_text) for each in lines]


def _flag(country="AU", **facts):
    wanted = {"genus": "Primula", "kind": "barred", "words": "not on the list of permitted seed"}
    return DestinationFlag.objects.create(
        **wanted | facts,
        country=country,
        source="invented source",
        checked_on=TODAY,
        checked_by="S.U.",
    )


def test_lines_are_numbered_a_to_z_at_publication_whatever_order_they_came_in(ignatius):
    found = listed_round(
        ignatius,
        stored_lot("Primula veris"),
        stored_lot("Lewisia cotyledon"),
        stored_lot("×Agropogon littoralis"),
        stored_lot("Primula elatior"),
    )
    assert _names(found) == [
        (1, "×Agropogon littoralis"),
        (2, "Lewisia cotyledon"),
        (3, "Primula elatior"),
        (4, "Primula veris"),
    ]


def test_a_late_lot_follows_at_the_end_and_moves_nobody(ignatius):
    found = listed_round(ignatius, stored_lot("Primula veris"), stored_lot("Primula elatior"))
    add_lines(
        round=found,
        lots=[stored_lot("Zinnia"), stored_lot("Aconitum napellus")],
        by=ignatius,
        at=NOON,
    )
    assert _names(found) == [
        (1, "Primula elatior"),
        (2, "Primula veris"),
        (3, "Aconitum napellus"),
        (4, "Zinnia"),
    ]


def test_a_published_list_cannot_be_numbered_again(ignatius):
    found = listed_round(ignatius)
    with pytest.raises(Refused, match="published already"):
        publish_list(round=found, by=ignatius, at=NOON)


def test_a_published_line_is_withdrawn_with_a_reason_and_never_removed(ignatius):
    found = listed_round(ignatius)
    with pytest.raises(Refused, match="withdraw the line"):
        remove_line(line=line(found, 1), by=ignatius, at=NOON)
    with pytest.raises(Refused) as no:
        withdraw_line(line=line(found, 1), by=ignatius, at=NOON, reason=" ")
    assert no.value.field == "reason"
    withdraw_line(line=line(found, 1), by=ignatius, at=NOON, reason="mouldy")
    assert line(found, 1).withdrawn_reason == "mouldy"


def test_a_line_nobody_has_seen_is_simply_taken_off(ignatius):
    found = make_round(ignatius)
    made = add_line(round=found, lot=stored_lot(), by=ignatius, at=NOON)
    remove_line(line=made, by=ignatius, at=NOON)
    assert not ListLine.objects.exists()


def test_a_lot_is_listed_once(ignatius):
    found, lot = make_round(ignatius), stored_lot()
    add_line(round=found, lot=lot, by=ignatius, at=NOON)
    with pytest.raises(Refused, match="on the list already"):
        add_line(round=found, lot=lot, by=ignatius, at=NOON)


@pytest.mark.parametrize("facts", [{"public_value_name": ""}, {}])
def test_a_list_without_lines_or_without_a_named_draw_is_not_published(facts, ignatius):
    found = make_round(ignatius, **facts)
    if facts:
        add_line(round=found, lot=stored_lot(), by=ignatius, at=NOON)
    with pytest.raises(Refused):
        publish_list(round=found, by=ignatius, at=NOON)
    assert not found.is_published


def test_publication_shows_the_lots_to_the_society(ignatius):
    lot = stored_lot(visibility=Visibility.ME)
    listed_round(ignatius, lot)
    lot.refresh_from_db()
    assert lot.visibility == Visibility.SOCIETY


def test_an_erratum_keeps_the_number_and_the_history(ignatius):
    found = listed_round(ignatius)
    change_line(line=line(found, 1), by=ignatius, at=NOON, description="pin-eyed", kept_back=1)
    assert line(found, 1).description == "pin-eyed"
    assert line(found, 1).history.count() == 3  # listed, numbered, put right


def test_the_keeper_puts_all_lots_with_packets_in_store_on_the_list(ignatius, signed_in):
    found = make_round(ignatius)
    stored_lot("Primula veris")
    stored_lot("Primula elatior")
    stored_lot("Primula vulgaris", packets=0)
    answer = signed_in(ignatius).post(f"/rounds/{found.slug}/list/edit/", {"all": "all"})
    assert answer.status_code == 302
    assert {name for _number, name in _names(found)} == {"Primula veris", "Primula elatior"}


def test_the_keeper_chooses_lots_and_must_choose_one(ignatius, signed_in):
    found = make_round(ignatius)
    chosen, _other = stored_lot("Primula veris"), stored_lot("Primula elatior")
    client, address = signed_in(ignatius), f"/rounds/{found.slug}/list/edit/"
    assert "Choose one lot or more." in client.post(address, {}).content.decode()
    client.post(address, {"lots": [chosen.pk]})
    assert [name for _number, name in _names(found)] == ["Primula veris"]


def test_the_list_says_in_words_what_a_line_is(ignatius, tansy, cosmo, signed_in):
    Taxon.objects.create(
        genus="Aconitum", species="napellus", hazard_note="Poisonous. Not for eating."
    )
    cosmo.donor_code = "CDR"
    cosmo.save()
    stored = stored_lot(
        "Aconitum napellus",
        raised_by=cosmo,
        taxon=Taxon.objects.get(),
        origin=Lot.Origin.WILD,
        wild_where="Vale of Nettlemere",
        wild_country="GB",
        wild_permit="NM-7",
        year=2024,
    )
    found = listed_round(ignatius, stored)
    page = signed_in(tansy).get(f"/rounds/{found.slug}/list/").content.decode()
    for words in (
        "<i>Aconitum</i> <i>napellus</i>",
        "collected in the wild, Vale of Nettlemere, United Kingdom; permit NM-7",
        "harvested 2024, 2 years old",
        "from CDR",
        "25 seeds a packet",
        "2 packets, 0 asked so far",
        "not known yet",
        "Poisonous. Not for eating.",
    ):
        assert words in page
    assert cosmo.name not in page


def test_a_line_barred_to_the_readers_country_says_why_and_has_no_button(
    ignatius, rollo, tansy, signed_in
):
    found = listed_round(ignatius)
    _flag()
    abroad = signed_in(rollo).get(f"/rounds/{found.slug}/list/").content.decode()
    assert "Not to Australia: not on the list of permitted seed" in abroad
    assert "+ wish" not in abroad
    at_home = signed_in(tansy).get(f"/rounds/{found.slug}/list/").content.decode()
    assert "Not to" not in at_home
    assert "+ wish" in at_home


def test_a_bar_on_a_genus_meets_the_crosses_that_have_it_as_a_parent(
    ignatius, tansy, rollo, signed_in
):
    cross = make_cross(
        tansy,
        seed_parent=make_plant(tansy, "Lewisia cotyledon"),
        pollen_parent=make_plant(tansy, "Primula veris"),
    )
    harvest = cross.harvests.create(
        number="H900000-00", harvested_on=TODAY, seeds=50, logged_by=tansy, logged_at=NOON
    )
    found = listed_round(ignatius, stored_lot("'Nobody Knows'", harvest=harvest))
    _flag()
    assert (
        "Not to Australia" in signed_in(rollo).get(f"/rounds/{found.slug}/list/").content.decode()
    )


def test_a_bar_on_one_species_leaves_the_rest_of_the_genus_free(ignatius, rollo, signed_in):
    veris = Taxon.objects.create(genus="Primula", species="veris")
    elatior = Taxon.objects.create(genus="Primula", species="elatior")
    found = listed_round(
        ignatius,
        stored_lot("Primula veris", taxon=veris),
        stored_lot("Primula elatior", taxon=elatior),
    )
    _flag(taxon=veris)
    listed = signed_in(rollo).get(f"/rounds/{found.slug}/list/").context["listed"]
    assert [(each.name, each.can_be_asked) for each in listed] == [
        ("Primula elatior", True),
        ("Primula veris", False),
    ]


def test_a_bar_of_the_lines_own_needs_words(ignatius):
    found = listed_round(ignatius)
    with pytest.raises(Refused) as no:
        bar_line(line=line(found, 1), by=ignatius, at=NOON, country="AU", words="")
    assert no.value.field == "words"


def test_the_keeper_bars_a_line_and_lifts_the_bar(ignatius, signed_in):
    found, client = listed_round(ignatius), signed_in(ignatius)
    address = f"/rounds/{found.slug}/list/1/"
    client.post(f"{address}bar/", {"country": "NZ", "words": "asked by the donor"})
    assert line(found, 1).bars.get().words == "asked by the donor"
    client.post(f"{address}unbar/", {"country": "NZ"})
    assert not line(found, 1).bars.exists()


def test_the_keeper_withdraws_a_line_and_members_read_why(ignatius, tansy, signed_in):
    found = listed_round(ignatius)
    answer = signed_in(ignatius).post(f"/rounds/{found.slug}/list/1/withdraw/", {"reason": ""})
    assert answer.context["reason_form"].errors["reason"]
    signed_in(ignatius).post(f"/rounds/{found.slug}/list/1/withdraw/", {"reason": "mouldy"})
    page = signed_in(tansy).get(f"/rounds/{found.slug}/list/").content.decode()
    assert "Withdrawn: mouldy" in page
    assert "+ wish" not in page


@pytest.mark.parametrize(
    ("asked", "names"),
    [
        ({"q": "elat"}, ["Primula elatior"]),
        ({"q": "1"}, ["Lewisia cotyledon"]),
        ({"q": "cdr"}, ["Primula veris"]),
        ({"genus": "primula"}, ["Primula elatior", "Primula veris"]),
        ({"origin": "wild"}, ["Primula elatior"]),
        ({"parent": "lewisia"}, []),
        ({"q": "cowslip"}, ["Primula veris"]),
        ({"q": "primula ver"}, ["Primula veris"]),
        ({"q": "primula cotyledon"}, []),
        ({"year": "2019"}, ["Lewisia cotyledon"]),
        ({"year": "last"}, ["Lewisia cotyledon", "Primula elatior", "Primula veris"]),
        ({"caution": "hazardous"}, ["Primula elatior"]),
        ({"caution": "without"}, ["Lewisia cotyledon", "Primula veris"]),
        # One asks for the only packet of line 1, and nobody for the others.
        ({"left": "on"}, ["Primula elatior", "Primula veris"]),
        ({"left": "on", "caution": "hazardous"}, ["Primula elatior"]),
        ({"q": "nothing of the kind"}, []),
    ],
)
def test_the_list_is_narrowed(asked, names, ignatius, tansy, cosmo, signed_in):
    cosmo.donor_code = "CDR"
    cosmo.save()
    cowslip = Taxon.objects.create(genus="Primula", species="veris", common_name="cowslip")
    found = listed_round(
        ignatius,
        stored_lot("Primula veris", raised_by=cosmo, taxon=cowslip),
        stored_lot("Primula elatior", origin=Lot.Origin.WILD, hazard_note="irritates"),
        stored_lot("Lewisia cotyledon", packets=1, year=2019),
    )
    wish(found, cosmo, 1)
    answer = signed_in(tansy).get(f"/rounds/{found.slug}/list/", asked)
    assert [each.name for each in answer.context["listed"]] == names


def test_the_list_is_found_by_a_parent_of_its_crosses(ignatius, tansy, signed_in):
    cross = make_cross(tansy)
    harvest = cross.harvests.create(
        number="H900000-00", harvested_on=TODAY, seeds=50, logged_by=tansy, logged_at=NOON
    )
    found = listed_round(ignatius, stored_lot("'A'", harvest=harvest), stored_lot("Primula veris"))
    for parent in ("smoke", "Oddwater"):
        answer = signed_in(tansy).get(f"/rounds/{found.slug}/list/", {"parent": parent})
        assert [each.name for each in answer.context["listed"]] == ["'A'"]


def test_members_cannot_read_the_list_before_it_opens(ignatius, tansy, signed_in):
    found = make_round(ignatius)
    add_line(round=found, lot=stored_lot(), by=ignatius, at=NOON)
    assert signed_in(tansy).get(f"/rounds/{found.slug}/list/").status_code == 403
    assert signed_in(tansy).get(f"/rounds/{found.slug}/list.csv").status_code == 403


def test_the_table_of_the_list_says_what_the_page_says(ignatius, tansy, signed_in):
    found = listed_round(ignatius, stored_lot("Primula veris × P. elatior", year=2025))
    wish(found, tansy, 1)
    answer = signed_in(tansy).get(f"/rounds/{found.slug}/list.csv")
    text = b"".join(answer.streaming_content).decode("utf-8-sig")
    row = next(csv.DictReader(io.StringIO(text)))
    assert row["line"] == "1"
    assert row["name"] == "Primula veris × P. elatior"
    assert (row["packets"], row["asked so far"], row["year"]) == ("2", "1", "2025")


def test_only_the_keeper_makes_the_list(ignatius, tansy, signed_in):
    found = listed_round(ignatius)
    client, address = signed_in(tansy), f"/rounds/{found.slug}/list/"
    assert client.get(f"{address}edit/").status_code == 403
    for act in ("publish/", "1/withdraw/", "1/remove/", "1/bar/", "1/unbar/"):
        assert client.post(f"{address}{act}").status_code == 403
    assert client.get(f"{address}1/").status_code == 403


@pytest.mark.parametrize("lines", [3, 12])
def test_a_longer_list_costs_no_more_queries(
    lines, ignatius, tansy, signed_in, django_assert_max_num_queries
):
    found = listed_round(
        ignatius, *(stored_lot(f"Primula {letter}") for letter in "abcdefghijkl"[:lines])
    )
    client = signed_in(tansy)
    client.get(f"/rounds/{found.slug}/list/")
    with django_assert_max_num_queries(24):
        client.get(f"/rounds/{found.slug}/list/")


def test_a_lot_without_packets_in_store_is_not_offered_for_the_list(ignatius, signed_in):
    found = make_round(ignatius)
    LotFactory(owner=None, name_text="Primula nobody")
    page = signed_in(ignatius).get(f"/rounds/{found.slug}/list/edit/").content.decode()
    assert "Primula nobody" not in page
