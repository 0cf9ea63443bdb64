"""Seed lots: from a harvest, by hand, corrected, withdrawn; who may do what."""

import datetime
import io
import uuid

import pypdf
import pytest
from django.urls import reverse

from crosses.base.refusal import Refused
from crosses.formats.labelsheet import SHEETS
from crosses.models import Cross, Harvest, Plant, Taxon
from seedbank.bank.actions.lot import (
    change_lot,
    make_lot_from_harvest,
    put_harvest_in_packets,
    withdraw_lot,
)
from seedbank.bank.actions.packet import discard
from seedbank.bank.labels import labels_pdf
from seedbank.bank.models import Lot
from seedbank.bank.queries import (
    lot_facts,
    packet_suggestion,
    parents_behind_names,
    person_in_words,
)
from tests.factories.bank import LotFactory, PlaceFactory, packets_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def harvest(tansy, at):
    """Two primulas crossed by Tansy, and 290 seeds reckoned from samples."""
    veris = Plant.objects.create(number="P1", name_text="Primula veris", keeper=tansy)
    vulgaris = Plant.objects.create(number="P2", name_text="Primula vulgaris", keeper=tansy)
    cross = Cross.objects.create(
        number="C1",
        own_number="25-1",
        grower=tansy,
        season=2025,
        seed_parent=veris,
        pollen_parent=vulgaris,
    )
    return Harvest.objects.create(
        number="H1",
        cross=cross,
        harvested_on=datetime.date(2025, 7, 9),
        logged_by=tansy,
        logged_at=at,
        seed_counting="sampled",
        seeds=290,
        seeds_low=280,
        seeds_high=300,
    )


def into_packets(**changes):
    return {"name_text": "Primula veris × P. vulgaris", "how_many": "", "seeds_each": ""} | changes


def lot_fields(**changes):
    fields = {
        "name_text": "Primula elatior",
        "year": 2025,
        "origin": "garden",
        "seed_counting": "counted",
        "seeds": 80,
        "visibility": "society",
    }
    return fields | changes


def test_a_lot_of_a_harvest_is_named_by_its_cross_seed_parent_first(harvest, tansy, at):
    lot = make_lot_from_harvest(harvest=harvest, by=tansy, at=at)
    assert lot.name_text == "Primula veris × P. vulgaris"
    assert (lot.year, lot.origin, lot.owner, lot.raised_by) == (2025, "controlled", tansy, tansy)


def test_a_lot_of_a_harvest_keeps_the_interval_of_its_seeds(harvest, tansy, at):
    lot = make_lot_from_harvest(harvest=harvest, by=tansy, at=at)
    assert (lot.seed_counting, lot.seeds, lot.seeds_low, lot.seeds_high) == (
        "sampled",
        290,
        280,
        300,
    )


def test_one_harvest_makes_one_lot(harvest, tansy, at):
    lot = make_lot_from_harvest(harvest=harvest, by=tansy, at=at)
    with pytest.raises(Refused, match=lot.number):
        make_lot_from_harvest(harvest=harvest, by=tansy, at=at)


def test_a_poisonous_parent_puts_its_caution_on_the_lot(harvest, tansy, at):
    taxon = Taxon.objects.create(
        genus="Primula", species="obconica", hazard_note="hairs irritate the skin"
    )
    Plant.objects.filter(pk=harvest.cross.pollen_parent_id).update(taxon=taxon)
    lot = make_lot_from_harvest(harvest=Harvest.objects.get(pk=harvest.pk), by=tansy, at=at)
    assert lot.hazard_note == "hairs irritate the skin"


def test_open_pollinated_seed_is_of_garden_origin(harvest, tansy, at):
    Cross.objects.filter(pk=harvest.cross_id).update(pollen="open", pollen_parent=None)
    lot = make_lot_from_harvest(harvest=Harvest.objects.get(pk=harvest.pk), by=tansy, at=at)
    assert lot.origin == "garden"


def test_a_harvest_becomes_a_lot_in_packets_at_one_go(harvest, tansy, signed_in):
    fields = into_packets(how_many=8, seeds_each=25)
    answer = signed_in(tansy).post(reverse("lot-from-harvest", args=["H1"]), fields)
    lot = harvest.lots.get()
    assert answer.url == reverse("packets-labels", args=[lot.number])
    assert [packet.seeds for packet in lot.packets.all()] == [25] * 8


def test_two_taps_make_one_lot_and_its_packets_once(harvest, tansy, signed_in):
    fields = into_packets(how_many=8, seeds_each=25) | {"client_key": str(uuid.uuid4())}
    for _tap in range(2):
        signed_in(tansy).post(reverse("lot-from-harvest", args=["H1"]), fields)
    assert harvest.lots.get().packets.count() == 8


def test_what_would_be_left_is_shown_before_anything_is_made(harvest, tansy, signed_in):
    fields = into_packets(how_many=8, seeds_each=25) | {"see": "yes"}
    answer = signed_in(tansy).post(reverse("lot-from-harvest", args=["H1"]), fields)
    assert "8 packets of 25 take 200 of 290 seeds; 90 stay loose in the lot." in answer.text
    assert not harvest.lots.exists()


def test_more_packets_than_there_is_seed_leave_neither_packets_nor_lot(harvest, tansy, signed_in):
    fields = into_packets(how_many=13, seeds_each=25)
    answer = signed_in(tansy).post(reverse("lot-from-harvest", args=["H1"]), fields)
    assert "300 of the lot's 300" in answer.context["form"].errors["how_many"][0]
    assert not harvest.lots.exists()


def test_without_packets_the_seed_is_stored_loose(harvest, tansy, signed_in):
    answer = signed_in(tansy).post(reverse("lot-from-harvest", args=["H1"]), into_packets())
    lot = harvest.lots.get()
    assert answer.url == reverse("lot-detail", args=[lot.number])
    assert not lot.packets.exists()


def test_packets_of_no_size_are_asked_about(harvest, tansy, signed_in):
    answer = signed_in(tansy).post(
        reverse("lot-from-harvest", args=["H1"]), into_packets(how_many=3)
    )
    assert answer.context["form"].errors == {"seeds_each": ["How many seeds go in each packet?"]}


def test_nobody_else_makes_a_lot_of_a_growers_harvest(harvest, cosmo, signed_in):
    assert signed_in(cosmo).post(reverse("lot-from-harvest", args=["H1"])).status_code == 403
    assert not harvest.lots.exists()


def test_seed_is_written_down_by_hand(tansy, signed_in):
    answer = signed_in(tansy).post(reverse("lot-add"), lot_fields())
    lot = Lot.objects.get()
    assert answer.url == reverse("packets-add", args=[lot.number])
    assert (lot.owner, lot.raised_by, lot.seeds) == (tansy, tansy, 80)


def test_a_double_tap_writes_one_lot(tansy, signed_in):
    client = signed_in(tansy)
    fields = lot_fields(client_key="8b9a1f5e-3f0b-4a37-9a55-0c6a5b9a8f11")
    first, second = (client.post(reverse("lot-add"), fields) for _ in range(2))
    assert first.url == second.url
    assert Lot.objects.count() == 1


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"name_text": ""}, "name_text", "This field is required."),
        ({"year": 2200}, "year", "This year is still to come."),
        ({"collected_on": "2024-06-01"}, "year", "It was collected in 2024"),
        ({"taxon": "Nosuchia"}, "taxon", "Nosuchia is not among the society's taxa"),
    ],
)
def test_a_wrong_lot_is_told_at_its_field_and_keeps_what_was_typed(
    tansy, signed_in, changes, field, words
):
    answer = signed_in(tansy).post(
        reverse("lot-add"), lot_fields(drying_note="a week in rice", **changes)
    )
    form = answer.context["form"]
    assert answer.status_code == 422
    assert not Lot.objects.exists()
    assert words in form.errors[field][0]
    assert "a week in rice" in answer.text


def test_a_correction_keeps_what_the_lot_said_before(tansy, at):
    lot = LotFactory(raised_by=tansy, name_text="Primula vulgarus")
    change_lot(lot=lot, by=tansy, at=at, why="misspelt", name_text="Primula vulgaris")
    newest = lot.history.first()
    assert (newest.history_user, newest.history_change_reason) == (tansy, "misspelt")
    assert lot.history.last().name_text == "Primula vulgarus"


def test_a_lot_cannot_be_counted_down_below_what_is_in_packets(tansy, at):
    lot = LotFactory(raised_by=tansy, seed_counting="counted", seeds=100)
    packets_of(lot, 4, seeds_each=25)
    with pytest.raises(Refused) as no:
        change_lot(lot=lot, by=tansy, at=at, why="recount", seeds=99)
    assert no.value.field == "seeds"


def test_a_lot_with_seed_in_the_store_is_not_withdrawn(ignatius, at):
    lot = LotFactory(owner=None)
    packet = packets_of(lot)[0]
    with pytest.raises(Refused, match="1 packets"):
        withdraw_lot(lot=lot, by=ignatius, at=at, reason="wrong name")
    discard(packet=packet, by=ignatius, at=at, why="wrong name")
    assert withdraw_lot(lot=lot, by=ignatius, at=at, reason="wrong name").is_withdrawn


def test_a_private_lot_is_nowhere_for_others(tansy, cosmo, signed_in):
    lot = LotFactory(raised_by=tansy, visibility="me")
    assert signed_in(cosmo).get(reverse("packets-add", args=[lot.number])).status_code == 404


def test_a_lot_others_may_see_is_not_theirs_to_change(tansy, cosmo, ignatius, signed_in):
    lot = LotFactory(raised_by=tansy)
    for person in (cosmo, ignatius):
        for page in ("lot-change", "lot-withdraw", "packets-add"):
            assert signed_in(person).get(reverse(page, args=[lot.number])).status_code == 403


def test_the_banks_lot_is_the_keepers_to_change(ignatius, tansy, signed_in):
    lot = LotFactory(raised_by=tansy, owner=None)
    assert signed_in(ignatius).get(reverse("lot-change", args=[lot.number])).status_code == 200
    assert signed_in(tansy).get(reverse("lot-change", args=[lot.number])).status_code == 403


def test_the_list_costs_no_more_for_more_lots(tansy, signed_in, django_assert_max_num_queries):
    client = signed_in(tansy)
    for _ in range(20):
        packets_of(LotFactory(raised_by=tansy), 2)
    with django_assert_max_num_queries(9):
        answer = client.get(reverse("lot-list"))
    assert len(answer.context["page_obj"]) == 20


def test_seed_is_found_by_a_part_of_its_name(tansy, signed_in):
    LotFactory(raised_by=tansy, name_text="Primula sieboldii")
    LotFactory(raised_by=tansy, name_text="Iris reticulata")
    answer = signed_in(tansy).get(reverse("lot-list"), {"q": "siebold"})
    assert [lot.name_text for lot in answer.context["page_obj"]] == ["Primula sieboldii"]


def test_the_page_says_the_sum_of_all_packets_and_lists_only_ones_own(tansy, cosmo):
    lot = LotFactory(raised_by=tansy)
    packets_of(lot, 3, place=PlaceFactory(owner=tansy))
    assert len(lot_facts(lot, tansy).packets) == 3
    facts = lot_facts(lot, cosmo)
    assert facts.packets == ()
    assert facts.balance.sentence == "3 made = 3 with members."


def test_members_read_the_donors_code_and_the_keeper_the_name(tansy, cosmo, ignatius):
    tansy.donor_code = "TAN"
    assert person_in_words(tansy, cosmo) == "donor TAN"
    assert person_in_words(tansy, ignatius) == "Tansy Oddwater (0001)"
    assert person_in_words(tansy, tansy) == "you"


def test_the_plan_divides_an_estimate_by_its_lower_end(tansy):
    lot = LotFactory(
        raised_by=tansy, seed_counting="sampled", seeds=300, seeds_low=290, seeds_high=310
    )
    # 290 seeds, 20 % own and 5 % reserve rounded up: 8 packets of 25 and 17 left (worked by hand: 58 + 15 + 200 + 17).
    plan = packet_suggestion(lot)
    assert (plan.seeds, plan.packets, plan.seeds_per_packet, plan.leftover) == (290, 8, 25, 17)


def test_no_plan_is_made_of_seed_nobody_counted(tansy):
    assert packet_suggestion(LotFactory(raised_by=tansy)) is None


def test_the_plan_is_for_a_lot_not_begun(tansy):
    lot = LotFactory(raised_by=tansy, seed_counting="counted", seeds=300)
    packets_of(lot)
    assert packet_suggestion(lot) is None


def test_a_label_says_the_parents_of_seed_that_goes_by_another_name(harvest, tansy, at):
    named = put_harvest_in_packets(
        harvest=harvest,
        by=tansy,
        at=at,
        name_text="Primula pale seedlings",
        packets={"how_many": 1, "seeds_each": 25},
    )
    assert parents_behind_names([named]) == {named.pk: "Primula veris × P. vulgaris"}
    pdf = labels_pdf(list(named.packets.all()), SHEETS["24 of 70 × 37 mm"])
    text = pypdf.PdfReader(io.BytesIO(pdf)).pages[0].extract_text().replace(" ", "")
    assert "Primulapaleseedlings(Primulaveris×P.vulgaris)" in text.replace("\n", "")


def test_seed_that_goes_by_its_parents_says_them_once(harvest, tansy, at):
    lot = make_lot_from_harvest(harvest=harvest, by=tansy, at=at)
    assert parents_behind_names([lot]) == {}
