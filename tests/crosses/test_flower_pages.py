"""The pages of crosses and flowers as a grower uses them."""

import datetime
import uuid

import pytest
from django.urls import reverse

from crosses.actions.capsule import record_check
from crosses.models import Cross, Plant, Pollination
from tests.conftest import NOON
from tests.factories.crosses import TaxonFactory, make_cross, make_plant, make_pollination

FLOWER = {
    "flowers": "1",
    "pollinated_on": "2026-04-12",
    "tool": "pick",
    "pollen_state": "fresh",
    "pollen_seen": "on",
}


def log(client, **typed):
    return client.post(reverse("pollination-add"), FLOWER | typed)


def test_two_plants_typed_by_name_make_a_cross_and_its_pollination(tansy, smoke, lemon, signed_in):
    answer = log(
        signed_in(tansy),
        seed_parent="Primula 'Quillfeather Smoke'",
        pollen_parent=f"{lemon.number} Primula 'Oddwater Lemon'",
        flowers="6",
    )
    pollination = Pollination.objects.get()
    assert answer.headers["Location"] == reverse("pollination-tag", args=[pollination.number])
    assert pollination.cross.own_number == "26-01"
    assert (pollination.cross.seed_parent, pollination.cross.pollen_parent) == (smoke, lemon)


def test_the_tag_says_seed_parent_first_day_initials_and_number(tansy, smoke, lemon, signed_in):
    client = signed_in(tansy)
    page = client.get(
        log(client, seed_parent=smoke.number, pollen_parent=lemon.number).headers["Location"]
    ).content.decode()
    assert "<i>Primula</i> &#x27;Quillfeather Smoke&#x27; × <i>P.</i>" in page
    assert "12 Apr 2026 TO" in page
    assert Pollination.objects.get().number in page


def test_a_double_tap_makes_one_pollination(tansy, smoke, lemon, signed_in):
    client, key = signed_in(tansy), str(uuid.UUID(int=3))
    for _tap in range(2):
        log(client, seed_parent=smoke.number, pollen_parent=lemon.number, client_key=key)
    assert Pollination.objects.count() == 1


def test_both_ways_shows_both_tags(tansy, smoke, lemon, signed_in):
    client = signed_in(tansy)
    answer = log(
        client,
        seed_parent=smoke.number,
        pollen_parent=lemon.number,
        both_ways="on",
        flowers_back="4",
    )
    page = client.get(answer.headers["Location"]).content.decode()
    assert "And on the other plant" in page
    assert [one.flowers for one in Pollination.objects.order_by("id")] == [1, 4]


def test_the_same_form_is_warned_of_and_allowed(tansy, smoke, signed_in):
    grey = make_plant(tansy, "Primula 'Plumbline Grey'", style_form=Plant.StyleForm.THRUM)
    client = signed_in(tansy)
    answer = log(client, seed_parent=grey.number, pollen_parent=smoke.number)
    page = client.get(answer.headers["Location"]).content.decode()
    # Darwin 1877, Primula vulgaris: 21 of 39 flowers set with their own form, 18 of 20 with the other.
    assert "21 of 39" in page
    assert "18 of 20" in page


def test_pin_by_thrum_is_not_warned_of(tansy, smoke, lemon, signed_in):
    client = signed_in(tansy)
    answer = log(client, seed_parent=smoke.number, pollen_parent=lemon.number)
    assert "Caution" not in client.get(answer.headers["Location"]).content.decode()


def test_a_missing_parent_is_told_at_its_field_and_the_rest_stays(tansy, smoke, signed_in):
    answer = log(signed_in(tansy), seed_parent=smoke.number, flowers="5", note="north bench")
    page = answer.content.decode()
    assert answer.context["form"].errors == {"pollen_parent": ["Which plant gave the pollen?"]}
    assert 'value="5"' in page
    assert "north bench" in page
    assert not Cross.objects.exists()


def test_the_same_plant_on_both_sides_is_told_in_words(tansy, smoke, signed_in):
    answer = log(signed_in(tansy), seed_parent=smoke.number, pollen_parent=smoke.number)
    assert "selfing" in answer.context["form"].errors["pollen_parent"][0]


def test_a_mistyped_number_says_that_digits_are_wrong(tansy, smoke, lemon, signed_in):
    wrong = smoke.number[:-1] + ("0" if smoke.number[-1] != "0" else "1")
    answer = log(signed_in(tansy), seed_parent=wrong, pollen_parent=lemon.number)
    assert "mistyped" in answer.context["form"].errors["seed_parent"][0]


def test_a_name_two_plants_bear_asks_which(tansy, lemon, signed_in):
    twins = [make_plant(tansy, "Primula veris").number for _twin in range(2)]
    answer = log(signed_in(tansy), seed_parent="primula veris", pollen_parent=lemon.number)
    message = answer.context["form"].errors["seed_parent"][0]
    assert all(number in message for number in twins)


def test_a_day_to_come_is_told_at_its_field(tansy, smoke, lemon, signed_in):
    answer = log(
        signed_in(tansy),
        seed_parent=smoke.number,
        pollen_parent=lemon.number,
        pollinated_on="2999-01-01",
    )
    assert answer.context["form"].errors.keys() == {"pollinated_on"}


def test_a_planned_cross_is_enough(tansy, signed_in):
    cross = make_cross(tansy, own_number="26-05")
    log(signed_in(tansy), cross="26-05")
    assert Pollination.objects.get().cross == cross


def test_nobody_pollinates_for_anothers_cross(tansy, cosmo, signed_in):
    cross = make_cross(tansy)
    answer = log(signed_in(cosmo), cross=cross.number)
    assert answer.context["form"].errors == {"cross": ["This is another grower's cross."]}


def test_open_pollination_needs_no_pollen_parent(tansy, smoke, signed_in):
    log(signed_in(tansy), seed_parent=smoke.number, pollen="open")
    assert Cross.objects.get().pollen == Cross.Pollen.OPEN


def test_another_may_read_a_flower_but_not_write_of_it(tansy, cosmo, signed_in):
    pollination = make_pollination(tansy)
    client = signed_in(cosmo)
    detail = reverse("pollination-detail", args=[pollination.number])
    assert client.get(detail).status_code == 200
    for page in ("check-add", "pollination-change", "pollination-tag", "pollination-touch-up"):
        assert client.get(reverse(page, args=[pollination.number])).status_code == 403


def test_a_hidden_cross_is_not_there_for_another(tansy, cosmo, signed_in):
    cross = make_cross(tansy, visibility="me")
    pollination = make_pollination(tansy, cross)
    client = signed_in(cosmo)
    for page, number in (
        ("cross-detail", cross.number),
        ("pollination-detail", pollination.number),
    ):
        assert client.get(reverse(page, args=[number])).status_code == 404
    listed = client.get(reverse("pollination-list"), {"whose": "all", "state": "all"})
    assert pollination.number not in listed.content.decode()


def test_a_look_is_one_tap_in_the_list_and_taken_back_by_another(tansy, signed_in, time_machine):
    time_machine.move_to(NOON)
    pollination = make_pollination(tansy)
    client = signed_in(tansy)
    tap = {"kind": "swelling", "seen_on": "2026-05-20", "next": "/flowers/"}
    answer = client.post(reverse("check-add", args=[pollination.number]), tap)
    assert answer.headers["Location"] == reverse("pollination-list")
    check = pollination.checks.get()
    assert Pollination.objects.get().state == Pollination.State.TAKEN
    undo = reverse("check-undo", args=[pollination.number, check.pk])
    assert undo in client.get(reverse("bench")).content.decode()
    client.post(undo, {"next": "/bench/"})
    assert Pollination.objects.get().state == Pollination.State.WAITING


def test_more_flowers_than_there_are_is_told_in_words(tansy, signed_in):
    pollination = make_pollination(tansy, flowers=2)
    answer = signed_in(tansy).post(
        reverse("check-add", args=[pollination.number]),
        {"kind": "aborted", "seen_on": "2026-05-01", "flowers": "3"},
    )
    assert "only 2 were still there" in answer.context["form"].errors["flowers"][0]
    assert not pollination.checks.exists()


@pytest.fixture
def primula():
    return TaxonFactory(species="", ripe_low_days=20, ripe_high_days=40)


def test_ripe_flowers_come_first_then_the_likelier_to_split(
    tansy, primula, at, signed_in, time_machine
):
    time_machine.move_to(NOON)
    plant = make_plant(tansy, taxon=primula)
    young, old, ripe = (
        make_pollination(
            tansy,
            make_cross(tansy, seed_parent=plant),
            pollinated_on=NOON.date() - datetime.timedelta(days=days),
        )
        for days in (5, 30, 10)
    )
    record_check(pollination=ripe, by=tansy, at=at, seen_on=NOON.date(), kind="colouring")
    rows = signed_in(tansy).get(reverse("pollination-list")).context["rows"]
    assert [row.pollination for row, _key in rows] == [ripe, old, young]


def test_the_list_costs_no_more_queries_for_more_flowers(
    tansy, primula, signed_in, django_assert_max_num_queries
):
    plant, client = make_plant(tansy, taxon=primula), signed_in(tansy)

    def pollinate(how_many):
        for _flower in range(how_many):
            cross = make_cross(tansy, seed_parent=plant)
            record_check(
                pollination=make_pollination(tansy, cross),
                by=tansy,
                at=NOON,
                seen_on=datetime.date(2026, 5, 1),
                kind="swelling",
            )

    pollinate(2)
    with django_assert_max_num_queries(20) as few:
        client.get(reverse("pollination-list"))
    pollinate(4)
    with django_assert_max_num_queries(len(few.captured_queries)):
        client.get(reverse("pollination-list"))


def test_the_list_of_crosses_costs_no_more_queries_for_more_crosses(
    tansy, signed_in, django_assert_max_num_queries
):
    client = signed_in(tansy)
    make_pollination(tansy)
    with django_assert_max_num_queries(14) as few:
        client.get(reverse("cross-list"))
    for _cross in range(3):
        make_pollination(tansy)
    with django_assert_max_num_queries(len(few.captured_queries)):
        client.get(reverse("cross-list"))


def test_a_cross_shows_how_many_of_its_decided_flowers_took(tansy, at, signed_in):
    cross = make_cross(tansy)
    record_check(
        pollination=make_pollination(tansy, cross, flowers=6),
        by=tansy,
        at=at,
        seen_on=datetime.date(2026, 5, 1),
        kind="swelling",
        flowers=5,
    )
    make_pollination(tansy, cross, flowers=3)
    page = signed_in(tansy).get(reverse("cross-detail", args=[cross.number]))
    assert (page.context["take"].x, page.context["take"].n) == (5, 6)


def test_the_reciprocal_is_linked_from_either_side(tansy, smoke, lemon, signed_in):
    client = signed_in(tansy)
    log(client, seed_parent=smoke.number, pollen_parent=lemon.number, both_ways="on")
    first, second = Cross.objects.order_by("id")
    for one, other in ((first, second), (second, first)):
        page = client.get(reverse("cross-detail", args=[one.number])).content.decode()
        assert reverse("cross-detail", args=[other.number]) in page


def test_a_cross_is_planned_from_a_mixture_with_parts(tansy, smoke, lemon, signed_in):
    grey = make_plant(tansy, "Primula 'Plumbline Grey'")
    answer = signed_in(tansy).post(
        reverse("cross-add"),
        {
            "seed_parent": smoke.number,
            "pollen": "mixed",
            "mixture": f"2 parts {lemon.number}\n{grey.number}",
            "season": "2026",
            "visibility": "society",
        },
    )
    cross = Cross.objects.get()
    assert answer.headers["Location"] == reverse("cross-detail", args=[cross.number])
    assert [(share.plant, share.parts) for share in cross.pollen_shares.order_by("id")] == [
        (lemon, 2),
        (grey, 1),
    ]


def test_a_correction_of_a_flower_says_so_at_its_field(tansy, signed_in, at):
    pollination = make_pollination(tansy)
    record_check(
        pollination=pollination,
        by=tansy,
        at=at,
        seen_on=datetime.date(2026, 4, 20),
        kind="nothing_yet",
    )
    answer = signed_in(tansy).post(
        reverse("pollination-change", args=[pollination.number]),
        FLOWER | {"pollinated_on": "2026-04-25"},
    )
    assert "20 April 2026" in answer.context["form"].errors["pollinated_on"][0]
