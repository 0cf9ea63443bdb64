"""A rule or a hazard of an ancestor holds for all that was raised from it, however far back."""

import io

import pytest
from pypdf import PdfReader

from crosses.formats.labelsheet import SHEETS
from crosses.models import Cross, DestinationFlag, Taxon
from seedbank.bank.kinds import cautions_of_lots
from seedbank.bank.labels import labels_pdf
from seedbank.bank.models import Lot
from seedbank.exchange.queries.papers import papers_of
from seedbank.exchange.queries.slip import slips_for
from tests.conftest import NOON, TODAY
from tests.factories.bank import packets_of
from tests.factories.crosses import TaxonFactory, make_cross, make_plant
from tests.factories.exchange import announced, listed_round, parcel_of, stored_lot, wish

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]

POISON = "All parts are poisonous."


def raised(grower, seed_parent, pollen_parent=None, *, name="Seedling 1", **facts):
    """A plant from a cross with a garden plant, or with the pollen parent that is given."""
    pollen = pollen_parent or make_plant(grower, "'Garden Clone'")
    cross = make_cross(grower, seed_parent=seed_parent, pollen_parent=pollen, **facts)
    return make_plant(grower, name, origin="cross", raised_from=cross)


def lot_from(grower, seed_parent, name="'Oddwater Lantern'"):
    cross = make_cross(
        grower, seed_parent=seed_parent, pollen_parent=make_plant(grower, "'Garden Clone'")
    )
    harvest = cross.harvests.create(
        number=f"H9{cross.pk:05d}-00",
        harvested_on=TODAY,
        seeds=50,
        logged_by=grower,
        logged_at=NOON,
    )
    return stored_lot(name, harvest=harvest)


@pytest.fixture
def napellus(tansy):
    taxon = Taxon.objects.create(genus="Aconitum", species="napellus", hazard_note=POISON)
    return make_plant(tansy, "Aconitum napellus", taxon=taxon)


@pytest.fixture
def lantern(tansy, napellus):
    """Seed whose great-grandparent is the monkshood; no name on the way says so."""
    child = raised(tansy, napellus, name="Seedling 1")
    grandchild = raised(tansy, make_plant(tansy, "'Plain'"), child, name="Seedling 2")
    return lot_from(tansy, grandchild)


def bar(genus="Aconitum", **facts):
    wanted = {"kind": "barred", "words": "not wanted", "country": "AU"} | facts
    return DestinationFlag.objects.create(
        genus=genus, source="invented source", checked_on=TODAY, checked_by="S.U.", **wanted
    )


def listed(client, found):
    return client.get(f"/rounds/{found.slug}/list/").context["listed"]


def test_a_bar_on_a_great_grandparents_genus_meets_the_line_and_names_it(
    lantern, ignatius, rollo, signed_in
):
    bar()
    found = listed_round(ignatius, lantern)
    (line,) = listed(signed_in(rollo), found)
    assert line.bar == (
        "Not to Australia: not wanted (invented source, read 2026-05-20),"
        " for Aconitum among its ancestors"
    )


def test_a_bar_on_one_species_meets_its_descendants_only(
    lantern, napellus, tansy, ignatius, rollo, signed_in
):
    other = make_plant(tansy, "Aconitum carmichaelii", taxon=TaxonFactory(genus="Aconitum"))
    found = listed_round(ignatius, lantern, lot_from(tansy, other, "'Oddwater Other'"))
    bar(taxon=napellus.taxon)
    assert [(line.name, line.can_be_asked) for line in listed(signed_in(rollo), found)] == [
        ("'Oddwater Lantern'", False),
        ("'Oddwater Other'", True),
    ]


def test_a_hazard_rule_for_everywhere_bars_the_line_at_home_too(
    lantern, ignatius, tansy, signed_in
):
    bar(country="", words="the society does not send monkshood")
    found = listed_round(ignatius, lantern)
    (line,) = listed(signed_in(tansy), found)
    assert line.bar.startswith("Not to United Kingdom: the society does not send monkshood")


def test_the_line_the_label_and_the_slip_say_what_an_ancestor_can_do(
    lantern, ignatius, tansy, signed_in
):
    words = f"{POISON} (From Aconitum napellus among its ancestors.)"
    found = listed_round(ignatius, lantern)
    assert listed(signed_in(tansy), found)[0].caution == words
    pdf = labels_pdf(packets_of(lantern), SHEETS["21 of 63.5 × 38.1 mm"])
    assert "poisonous" in PdfReader(io.BytesIO(pdf)).pages[0].extract_text()
    wish(found, tansy, 1)
    parcel = parcel_of(announced(found, ignatius), tansy)
    (slip,) = slips_for([parcel], ignatius, with_address=set())
    assert slip.lines[0].caution == words


def test_the_papers_of_a_parcel_look_at_ancestors_too(lantern, ignatius, rollo):
    found = listed_round(ignatius, lantern)
    wish(found, rollo, 1)
    parcel = parcel_of(announced(found, ignatius), rollo)
    bar(kind="protected")
    assert "not wanted" in [note.words for note in papers_of(parcel).notes]


def test_ancestors_are_found_through_divisions_mixtures_and_selfings(tansy, napellus):
    division = make_plant(tansy, "'Piece'", origin="division", propagated_from=napellus)
    selfed = make_cross(tansy, seed_parent=division, pollen=Cross.Pollen.SELF)
    child = make_plant(tansy, "Seedling 3", origin="cross", raised_from=selfed)
    mixed = make_cross(
        tansy,
        seed_parent=make_plant(tansy, "'Plain'"),
        pollen=Cross.Pollen.MIXED,
        mixture=[(child, 1), (make_plant(tansy, "'Other'"), 1)],
    )
    harvest = mixed.harvests.create(
        number="H900000-00", harvested_on=TODAY, seeds=5, logged_by=tansy, logged_at=NOON
    )
    lot = stored_lot("'Mixed'", harvest=harvest)
    assert POISON in cautions_of_lots([lot])[lot.pk]


def test_the_note_of_a_genus_stands_where_the_species_has_none(tansy):
    Taxon.objects.create(genus="Digitalis", species="", hazard_note="Poisonous: no hand to mouth.")
    lots = [
        stored_lot("Digitalis obscura", taxon=TaxonFactory(genus="Digitalis", species="obscura")),
        stored_lot("Digitalis nobody knows"),
        stored_lot("Primula veris"),
    ]
    cautions = cautions_of_lots(lots)
    assert [cautions[lot.pk] for lot in lots] == [
        "Poisonous: no hand to mouth.",
        "Poisonous: no hand to mouth.",
        "",
    ]


def test_the_lots_own_note_goes_before_all_others(lantern):
    Lot.objects.filter(pk=lantern.pk).update(hazard_note="Its hairs irritate.")
    lantern.refresh_from_db()
    assert cautions_of_lots([lantern])[lantern.pk] == "Its hairs irritate."


def test_more_lots_of_one_depth_cost_no_more_queries(
    tansy, napellus, lantern, django_assert_num_queries, django_assert_max_num_queries
):
    lots = list(Lot.objects.select_related("taxon"))
    with django_assert_max_num_queries(21) as few:
        cautions_of_lots(lots)
    for number in range(4):
        lot_from(tansy, raised(tansy, raised(tansy, napellus)), f"'Number {number}'")
    lots = list(Lot.objects.select_related("taxon"))
    with django_assert_num_queries(len(few)):
        cautions_of_lots(lots)
