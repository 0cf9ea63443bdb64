"""Plants: found by what people type, corrected with their history kept, never their own ancestor."""

import datetime

import pytest
from django.urls import reverse

from crosses.actions.plant import change_plant, mark_dead, withdraw_plant
from crosses.base.refusal import Refused
from crosses.models import Plant
from tests.factories.crosses import TaxonFactory, make_cross, make_plant


def send(client, url_name, *args, **typed):
    return client.post(reverse(url_name, args=args), typed)


PLANT = {"name_text": "Primula veris", "origin": "unknown", "visibility": "society"}


def test_a_name_is_enough_to_write_a_plant_down(tansy, signed_in):
    answer = send(signed_in(tansy), "plant-add", **PLANT)
    plant = Plant.objects.get()
    assert answer.headers["Location"] == reverse("plant-detail", args=[plant.number])
    assert (plant.name_text, plant.keeper) == ("Primula veris", tansy)


def test_a_taxon_is_typed_by_name_with_a_hand_made_sign(tansy, signed_in):
    TaxonFactory(species="pubescens", is_hybrid=True)
    send(signed_in(tansy), "plant-add", **PLANT, taxon="primula x pubescens")
    assert Plant.objects.get().taxon.species == "pubescens"


def test_an_unknown_taxon_is_told_at_its_field_and_the_rest_stays(tansy, signed_in):
    answer = send(signed_in(tansy), "plant-add", **PLANT, taxon="Primula farinosa")
    assert "not among the society" in answer.content.decode()
    assert 'value="Primula veris"' in answer.content.decode()
    assert not Plant.objects.exists()


def test_where_it_grew_wild_belongs_to_a_wild_plant(tansy, signed_in):
    answer = send(signed_in(tansy), "plant-add", **PLANT, wild_where="Nettlemere Down")
    assert answer.context["form"].errors.keys() == {"origin"}


def test_naming_the_cross_says_the_origin(tansy, signed_in):
    cross = make_cross(tansy, own_number="26-01")
    send(signed_in(tansy), "plant-add", **PLANT, raised_from="26-01")
    plant = Plant.objects.get(name_text="Primula veris")
    assert (plant.raised_from, plant.origin) == (cross, "cross")


def test_a_day_to_come_is_refused_at_its_field(tansy, signed_in):
    answer = send(signed_in(tansy), "plant-add", **PLANT, acquired_on="2999-01-01")
    assert answer.context["form"].errors.keys() == {"acquired_on"}


def test_a_corrected_name_keeps_the_old_one_in_sight(tansy, signed_in):
    plant = make_plant(tansy, "Primula vulgarus")
    client = signed_in(tansy)
    send(
        client,
        "plant-change",
        plant.number,
        **PLANT | {"name_text": "Primula vulgaris"},
        why="copied wrong",
    )
    page = client.get(reverse("plant-detail", args=[plant.number])).content.decode()
    assert "Primula vulgarus → Primula vulgaris" in page
    assert "Tansy Oddwater: copied wrong" in page


def test_another_may_read_a_plant_but_not_correct_it(tansy, cosmo, signed_in):
    plant = make_plant(tansy)
    client = signed_in(cosmo)
    assert client.get(reverse("plant-detail", args=[plant.number])).status_code == 200
    for page in ("plant-change", "plant-dead", "plant-withdraw"):
        assert client.get(reverse(page, args=[plant.number])).status_code == 403


def test_a_plant_kept_to_oneself_is_not_there_for_another(tansy, cosmo, signed_in):
    plant = make_plant(tansy, "Primula secret", visibility="me")
    client = signed_in(cosmo)
    assert client.get(reverse("plant-detail", args=[plant.number])).status_code == 404
    assert "secret" not in client.get(reverse("plant-list")).content.decode()
    assert "secret" in signed_in(tansy).get(reverse("plant-list")).content.decode()


def test_the_list_has_ones_own_plants_first_and_leaves_out_the_dead(tansy, cosmo, signed_in):
    make_plant(cosmo, "Primula auricula")
    make_plant(tansy, "Primula veris")
    make_plant(tansy, "Primula sieboldii", died_on=datetime.date(2026, 1, 5))
    client = signed_in(tansy)
    shown = [plant.name_text for plant in client.get(reverse("plant-list")).context["page_obj"]]
    assert shown == ["Primula veris", "Primula auricula"]
    dead = client.get(reverse("plant-list"), {"alive": "dead"}).context["page_obj"]
    assert [plant.name_text for plant in dead] == ["Primula sieboldii"]


def test_the_list_costs_no_more_queries_for_more_plants(
    tansy, signed_in, django_assert_max_num_queries
):
    taxon = TaxonFactory()
    client = signed_in(tansy)
    for name in ("Primula a", "Primula b"):
        make_plant(tansy, name, taxon=taxon)
    with django_assert_max_num_queries(12) as few:
        client.get(reverse("plant-list"))
    for name in ("Primula c", "Primula d", "Primula e", "Primula f"):
        make_plant(tansy, name, taxon=taxon)
    with django_assert_max_num_queries(len(few.captured_queries)):
        client.get(reverse("plant-list"))


def test_a_plant_raised_from_its_own_descendant_is_refused_with_the_loop(tansy):
    founder = make_plant(tansy, "Primula veris")
    seedling = make_plant(
        tansy, "N-17", origin="cross", raised_from=make_cross(tansy, seed_parent=founder)
    )
    cross = make_cross(tansy, seed_parent=seedling)
    with pytest.raises(Refused) as no:
        change_plant(plant=founder, by=tansy, why="", origin="cross", raised_from=cross)
    assert no.value.field == "raised_from"
    assert founder.number in no.value.message
    assert seedling.number in no.value.message


def test_a_loop_through_a_division_is_refused_too(tansy):
    founder = make_plant(tansy, "Primula veris")
    division = make_plant(tansy, "Primula veris", origin="division", propagated_from=founder)
    cross = make_cross(tansy, seed_parent=division)
    with pytest.raises(Refused) as no:
        change_plant(plant=founder, by=tansy, why="", origin="cross", raised_from=cross)
    assert no.value.code == "own-ancestor"


def test_a_parent_the_society_sees_cannot_be_hidden(tansy):
    cross = make_cross(tansy)
    with pytest.raises(Refused) as no:
        change_plant(plant=cross.seed_parent, by=tansy, why="", visibility="me")
    assert no.value.field == "visibility"


def test_a_plant_dies_once_and_stays(tansy, at):
    plant = make_plant(tansy)
    mark_dead(plant=plant, by=tansy, at=at, died_on=datetime.date(2026, 5, 1))
    with pytest.raises(Refused):
        mark_dead(plant=plant, by=tansy, at=at, died_on=datetime.date(2026, 5, 2))
    assert Plant.objects.get().died_on == datetime.date(2026, 5, 1)


def test_a_plant_with_crosses_is_not_withdrawn(tansy, at):
    cross = make_cross(tansy)
    with pytest.raises(Refused) as no:
        withdraw_plant(plant=cross.pollen_parent, by=tansy, at=at, reason="a slip")
    assert no.value.code == "has-crosses"
    alone = make_plant(tansy, "Primula alone")
    withdraw_plant(plant=alone, by=tansy, at=at, reason="a slip")
    assert Plant.objects.get(pk=alone.pk).is_withdrawn


def test_a_withdrawal_needs_its_reason(tansy, signed_in):
    plant = make_plant(tansy)
    answer = send(signed_in(tansy), "plant-withdraw", plant.number, reason=" ")
    assert answer.context["form"].errors.keys() == {"reason"}
    assert not Plant.objects.get().is_withdrawn
