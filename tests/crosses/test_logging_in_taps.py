"""Logging with few taps: the pair used last, a part of a name, and what was done last time."""

import datetime

import pytest
from django.urls import reverse

from crosses.actions.plant import mark_dead
from crosses.actions.pollination import withdraw_pollination
from crosses.base.refusal import Refused
from crosses.models import Cross, Pollination
from crosses.queries.finding import MOST_CHOICES, find_plant
from crosses.queries.recent import DAYS_TO_TOUCH_UP
from tests.conftest import NOON, TODAY
from tests.factories.crosses import make_cross, make_plant, make_pollination

FLOWER = {"flowers": "1", "pollinated_on": "2026-05-20", "tool": "pick", "pollen_state": "fresh"}


@pytest.fixture(autouse=True)
def noon(time_machine):
    time_machine.move_to(NOON)


@pytest.fixture
def log(tansy, signed_in):
    client = signed_in(tansy)
    return lambda **typed: client.post(reverse("pollination-add"), FLOWER | typed)


@pytest.fixture
def log_page(tansy, signed_in):
    client = signed_in(tansy)
    return lambda **asked: client.get(reverse("pollination-add"), asked)


def choices_at(answer, field):
    error = answer.context["form"].errors[field].as_data()[0]
    return [value for value, _words in error.params["choices"]]


class TestAPartOfAName:
    """What somebody types who stands before the plant."""

    @pytest.mark.parametrize("text", ["Smoke", "smoke", "feather smo", "‘Smoke’", "smoke primula"])
    def test_a_unique_part_is_enough(self, log, smoke, lemon, text):
        log(seed_parent=text, pollen_parent="lem")
        cross = Cross.objects.get()
        assert (cross.seed_parent, cross.pollen_parent) == (smoke, lemon)

    def test_a_label_of_ones_own_is_enough(self, log, tansy, lemon):
        marked = make_plant(tansy, "Primula veris", own_label="bench 4, left")
        log(seed_parent="bench 4", pollen_parent="lemon")
        assert Cross.objects.get().seed_parent == marked

    def test_the_whole_name_is_meant_before_a_part(self, log, tansy, lemon):
        short, _longer = (make_plant(tansy, name) for name in ("Primula veris", "Primula veris f"))
        log(seed_parent="primula veris", pollen_parent="lemon")
        assert Cross.objects.get().seed_parent == short

    def test_ones_own_living_plant_is_meant_first(self, log, tansy, cosmo, smoke, lemon):
        make_plant(cosmo, "Primula 'Smoke Ring'")
        dead = make_plant(tansy, "Primula 'Wood Smoke'")
        mark_dead(plant=dead, by=tansy, at=NOON, died_on=TODAY)
        log(seed_parent="smoke", pollen_parent="lemon")
        assert Cross.objects.get().seed_parent == smoke

    def test_anothers_plant_is_found_when_one_has_none(self, log, cosmo, lemon):
        gift = make_plant(cosmo, "Primula 'Invented Gift'")
        log(seed_parent="gift", pollen_parent="lemon")
        assert Cross.objects.get().seed_parent == gift

    def test_several_that_fit_are_offered_as_buttons_and_nothing_is_lost(self, log, tansy, lemon):
        twins = [make_plant(tansy, f"Primula 'Invented {one}'") for one in ("Ash", "Birch")]
        answer = log(seed_parent="invented", pollen_parent="lemon", flowers="7", note="north")
        assert choices_at(answer, "seed_parent") == [
            f"{plant.number} {plant.name_text}" for plant in reversed(twins)
        ]
        shown = answer.content.decode()
        assert f'name="seed_parent" value="{twins[0].number} Primula &#x27;Invented Ash' in shown
        assert 'value="7"' in shown
        assert "north" in shown
        # The button's value comes after the place's, so it is what is meant.
        log(seed_parent=["invented", f"{twins[1].number} x"], pollen_parent="lemon", flowers="7")
        logged = Pollination.objects.get()
        assert (logged.cross.seed_parent, logged.flowers) == (twins[1], 7)

    def test_enter_never_chooses_for_somebody(self, log, tansy, lemon):
        for one in ("Ash", "Birch"):
            make_plant(tansy, f"Primula 'Invented {one}'")
        shown = log(seed_parent="invented", pollen_parent="lemon").content.decode()
        form = shown[shown.index('class="sheet-form') :]
        # Enter presses the first button of a form that sends it; this one chooses nothing.
        assert "name=" not in form[form.index("<button") :].partition(">")[0]

    def test_very_many_that_fit_are_offered_in_part_and_it_says_so(self, log, tansy, lemon):
        for number in range(MOST_CHOICES + 1):
            make_plant(tansy, f"Primula seedling Q-{number}")
        answer = log(seed_parent="seedling", pollen_parent="lemon")
        assert len(choices_at(answer, "seed_parent")) == MOST_CHOICES
        assert "Type more of the name" in answer.context["form"].errors["seed_parent"][0]

    @pytest.mark.parametrize("text", ["s", "'", "no such plant", "' '"])
    def test_what_fits_nothing_says_so(self, log, smoke, lemon, text):
        answer = log(seed_parent=text, pollen_parent="lemon")
        assert "No plant is called" in answer.context["form"].errors["seed_parent"][0]

    def test_a_table_that_is_brought_in_has_to_write_the_whole_name(self, tansy, smoke):
        with pytest.raises(Refused):
            find_plant(tansy, "Smoke", "seed_parent")


class TestTheSamePair:
    """The pairs used last stand first, and one of them is all that has to be said."""

    def test_the_pair_used_last_is_the_first_choice_and_enough(
        self, log, log_page, tansy, smoke, lemon, time_machine
    ):
        make_pollination(tansy)
        time_machine.move_to(NOON + datetime.timedelta(hours=1))
        log(seed_parent=smoke.number, pollen_parent=lemon.number)
        last = log_page().context["pairs"][0].cross
        assert (last.seed_parent, last.pollen_parent) == (smoke, lemon)
        log(again=last.number)
        assert last.pollinations.count() == 2

    def test_pairs_of_another_year_and_withdrawn_ones_are_not_offered(self, log_page, tansy):
        make_pollination(tansy, make_cross(tansy, season=2025))
        slip = make_pollination(tansy)
        withdraw_pollination(pollination=slip, by=tansy, at=NOON, reason="slip")
        assert log_page().context["pairs"] == []

    def test_a_cross_one_comes_from_is_chosen_already(self, log_page, tansy):
        planned = make_cross(tansy)
        make_pollination(tansy)
        answer = log_page(cross=planned.number)
        assert answer.context["pairs"][0].cross == planned
        assert f'value="{planned.number}" checked' in answer.content.decode()

    def test_a_pair_chosen_and_another_typed_is_asked_about(self, log, tansy, smoke):
        cross = make_pollination(tansy).cross
        answer = log(again=cross.number, seed_parent=smoke.number)
        assert "empty one" in answer.context["form"].errors["seed_parent"][0]
        assert cross.pollinations.count() == 1

    def test_both_ways_of_a_pair_logs_the_reciprocal_too(self, log, tansy):
        cross = make_pollination(tansy).cross
        log(again=cross.number, both_ways="on", flowers_back="2")
        assert cross.reciprocal.pollinations.get().flowers == 2

    def test_anothers_cross_is_not_ones_own_pair(self, log, cosmo):
        answer = log(again=make_pollination(cosmo).cross.number)
        assert answer.context["form"].errors["again"]

    @pytest.mark.parametrize(("days", "offered"), [(DAYS_TO_TOUCH_UP, True), (9, False)])
    def test_fresh_flowers_are_touched_up_from_here(self, log_page, tansy, days, offered):
        day = TODAY - datetime.timedelta(days=days)
        flower = make_pollination(tansy, pollinated_on=day)
        address = reverse("pollination-touch-up", args=[flower.number])
        assert (address in log_page().content.decode()) is offered

    def test_plants_used_last_are_buttons_then_the_newest(self, log_page, tansy, smoke, lemon):
        newest = make_plant(tansy, "Primula 'Plumbline Grey'")
        make_pollination(tansy, make_cross(tansy, seed_parent=smoke, pollen_parent=lemon))
        assert log_page().context["plants"] == [smoke, lemon, newest]


class TestWhatWasDoneLast:
    """The way of working is remembered, and shown before it is used."""

    def test_tool_and_bag_are_as_last_time(self, log_page, tansy):
        make_pollination(tansy, tool="brush", is_bagged=True, flowers=9, pollen_seen=False)
        answer = log_page()
        form = answer.context["form"]
        assert (form["tool"].value(), form["is_bagged"].value()) == ("brush", True)
        # How many, and whether pollen was found, is seen anew each time.
        assert (form["flowers"].value(), form["no_pollen_found"].value()) == (1, None)
        assert "as last time: brush, fresh pollen, bagged" in answer.content.decode()

    def test_stored_pollen_has_grown_older_since(self, log_page, tansy):
        make_pollination(
            tansy,
            pollinated_on=TODAY - datetime.timedelta(days=3),
            pollen_state="stored",
            pollen_stored_how="freezer",
            pollen_stored_days=30,
        )
        form = log_page().context["form"]
        assert (form["pollen_stored_how"].value(), form["pollen_stored_days"].value()) == (
            "freezer",
            33,
        )

    def test_anothers_ways_are_not_mine(self, log_page, cosmo):
        make_pollination(cosmo, tool="brush")
        assert log_page().context["last"] is None


def test_that_no_pollen_was_found_is_written_down(log, smoke, lemon):
    log(seed_parent=smoke.number, pollen_parent=lemon.number, no_pollen_found="on")
    assert not Pollination.objects.get().pollen_seen
    log(seed_parent=smoke.number, pollen_parent=lemon.number)
    assert Pollination.objects.order_by("pk").last().pollen_seen


def test_the_page_costs_no_more_for_more_flowers(log_page, tansy, django_assert_max_num_queries):
    make_pollination(tansy)
    log_page()
    with django_assert_max_num_queries(20) as few:
        log_page()
    for _flower in range(3):
        make_pollination(tansy)
    with django_assert_max_num_queries(len(few.captured_queries)):
        log_page()
