"""Corrections and withdrawals through the pages: with a reason, with history, never of what hangs on."""

import datetime

import pytest
from django.urls import reverse

from crosses.actions.capsule import record_check
from crosses.actions.cross import change_cross, plan_cross, withdraw_cross
from crosses.actions.harvest import log_harvest
from crosses.actions.pollination import change_pollination, withdraw_pollination
from crosses.base.refusal import Refused
from crosses.models import Cross, Harvest, Plant, Pollination
from tests.factories.crosses import make_cross, make_plant, make_pollination

MAY_10 = datetime.date(2026, 5, 10)
FLOWER = {
    "flowers": "1",
    "pollinated_on": "2026-04-12",
    "tool": "pick",
    "pollen_state": "fresh",
}


def take_in(grower, pollination, at, **facts):
    wanted = {"seed_counting": "counted", "seeds": 60} | facts
    return log_harvest(
        cross=pollination.cross,
        by=grower,
        at=at,
        harvested_on=MAY_10,
        capsules=[(pollination, 1)],
        **wanted,
    )


def test_every_fact_of_a_flower_goes_in_and_out_by_its_pages(tansy, signed_in):
    client, cross = signed_in(tansy), make_cross(tansy)
    told = FLOWER | {"pollinated_time": "09:40", "air_temperature_celsius": "14.5", "note": "windy"}
    client.post(reverse("pollination-add"), told | {"cross": cross.number})
    flower = Pollination.objects.get()
    assert (str(flower.pollinated_time), flower.note) == ("09:40:00", "windy")
    assert "09:40" in client.get(reverse("pollination-detail", args=[flower.number])).text
    page = reverse("pollination-change", args=[flower.number])
    form = client.get(page).context["form"]
    typed = {field.name: field.value() for field in form if field.value() not in (None, False)}
    client.post(page, typed | {"pollinated_time": "10:05", "no_pollen_found": "on"})
    flower.refresh_from_db()
    assert (str(flower.pollinated_time), flower.pollen_seen) == ("10:05:00", False)
    assert (flower.note, str(flower.air_temperature_celsius)) == ("windy", "14.5")


def test_a_temperature_out_of_bounds_is_refused_at_its_field_in_the_words_of_the_rule(
    tansy, signed_in
):
    flower = make_pollination(tansy)
    page = reverse("pollination-change", args=[flower.number])
    answer = signed_in(tansy).post(page, FLOWER | {"air_temperature_celsius": "140"})
    said = answer.context["form"].errors["air_temperature_celsius"]
    assert said == ["Air temperature is in degrees Celsius, between -30 and 60."]


class TestCrosses:
    """A cross: its number, aim and sight may change, its parents may not."""

    def test_the_aim_is_corrected_and_the_old_one_kept(self, tansy, signed_in):
        cross = make_cross(tansy, aim="yelow")
        page = reverse("cross-change", args=[cross.number])
        typed = {"own_number": cross.own_number, "aim": "yellow", "visibility": "society"}
        signed_in(tansy).post(page, typed | {"why": "typo"})
        told = cross.history.order_by("history_date", "history_id")
        assert [version.aim for version in told] == ["yelow", "yellow"]

    def test_parents_are_fixed(self, tansy):
        cross = make_cross(tansy)
        with pytest.raises(Refused) as no:
            change_cross(cross=cross, by=tansy, seed_parent=make_plant(tansy))
        assert "seed_parent" in no.value.message

    def test_a_cross_of_a_hidden_plant_cannot_be_shown(self, tansy):
        cross = make_cross(tansy, seed_parent=make_plant(tansy, "Primula s", visibility="me"))
        with pytest.raises(Refused) as no:
            change_cross(cross=cross, by=tansy, visibility="society")
        assert no.value.field == "visibility"

    def test_a_cross_without_flowers_is_withdrawn(self, tansy, signed_in):
        cross = make_cross(tansy)
        client = signed_in(tansy)
        client.post(reverse("cross-withdraw", args=[cross.number]), {"reason": "planned twice"})
        assert Cross.objects.get().withdrawn_reason == "planned twice"
        assert not client.get(reverse("cross-list")).context["rows"]

    def test_a_cross_with_flowers_is_not(self, tansy, at):
        cross = make_pollination(tansy).cross
        with pytest.raises(Refused) as no:
            withdraw_cross(cross=cross, by=tansy, at=at, reason="a slip")
        assert no.value.code == "has-flowers"

    def test_nor_one_with_seedlings(self, tansy, at):
        cross = make_cross(tansy)
        make_plant(tansy, "N-1", origin="cross", raised_from=cross)
        with pytest.raises(Refused) as no:
            withdraw_cross(cross=cross, by=tansy, at=at, reason="a slip")
        assert no.value.code == "has-seedlings"

    def test_another_grower_changes_nothing(self, tansy, cosmo, signed_in):
        cross = make_cross(tansy)
        for page in ("cross-change", "cross-withdraw", "harvest-add"):
            answer = signed_in(cosmo).get(reverse(page, args=[cross.number]))
            assert answer.status_code == 403

    @pytest.mark.parametrize("mixture", [[(0, 1), (0, 1)], [(0, 1), (1, 0)], [(0, 1), (2, 1)], []])
    def test_an_impossible_mixture_is_refused_at_its_field(self, tansy, at, mixture):
        plants = [make_plant(tansy, f"Primula {name}") for name in "abc"]
        Plant.objects.filter(pk=plants[2].pk).update(
            withdrawn_at=at, withdrawn_by=tansy, withdrawn_reason="a slip"
        )
        plants[2].refresh_from_db()
        with pytest.raises(Refused) as no:
            make_cross(
                tansy, pollen="mixed", mixture=[(plants[which], parts) for which, parts in mixture]
            )
        assert no.value.field == "mixture"

    def test_a_withdrawn_plant_is_no_parent(self, tansy, at):
        gone = make_plant(tansy)
        gone.withdrawn_at, gone.withdrawn_by, gone.withdrawn_reason = at, tansy, "a slip"
        with pytest.raises(Refused) as no:
            make_cross(tansy, seed_parent=gone)
        assert no.value.field == "seed_parent"

    def test_pollen_of_one_plant_names_it(self, tansy, at):
        with pytest.raises(Refused) as no:
            plan_cross(
                grower=tansy,
                by=tansy,
                at=at,
                own_number="26-01",
                season=2026,
                seed_parent=make_plant(tansy),
            )
        assert no.value.field == "pollen_parent"

    def test_a_cross_is_planned_on_its_page_and_a_wrong_one_is_told(self, tansy, signed_in):
        plant = make_plant(tansy)
        typed = {
            "seed_parent": plant.number,
            "pollen": "open",
            "pollen_parent": plant.number,
            "season": "2026",
            "visibility": "society",
        }
        answer = signed_in(tansy).post(reverse("cross-add"), typed)
        assert answer.context["form"].errors.keys() == {"pollen_parent"}
        answer = signed_in(tansy).post(
            reverse("cross-add"), typed | {"pollen": "mixed", "pollen_parent": "", "mixture": "?"}
        )
        assert answer.context["form"].errors.keys() == {"mixture"}

    def test_the_list_is_narrowed_by_season_words_and_grower(self, tansy, cosmo, signed_in):
        make_cross(tansy, own_number="25-01", season=2025)
        make_cross(cosmo, own_number="26-09")
        make_cross(tansy, own_number="26-01")
        client = signed_in(tansy)

        def shown(**asked):
            rows = client.get(reverse("cross-list"), asked).context["rows"]
            return [row.cross.own_number for row in rows]

        assert shown() == ["26-01", "26-09", "25-01"]
        assert shown(season="2025") == ["25-01"]
        assert shown(whose="own") == ["26-01", "25-01"]
        assert shown(q="26-09") == ["26-09"]
        assert shown(season="never") == shown()


class TestFormulas:
    """Seed parent first, whatever the pollen was."""

    def formula(self, client, cross):
        return client.get(reverse("cross-detail", args=[cross.number])).context["formula"]

    @pytest.mark.parametrize(
        ("pollen", "written"),
        [
            ("self", "Primula veris × self"),
            ("open", "Primula veris (open pollinated)"),
            ("unknown", "Primula veris × unknown"),
            ("none", "Primula veris (no pollen)"),
        ],
    )
    def test_pollen_without_a_plant(self, tansy, signed_in, pollen, written):
        veris = make_plant(tansy, "Primula veris")
        cross = make_cross(tansy, seed_parent=veris, pollen=pollen)
        assert self.formula(signed_in(tansy), cross) == written

    def test_a_mixture_stands_in_brackets(self, tansy, signed_in):
        veris, elatior, vulgaris = (
            make_plant(tansy, f"Primula {name}") for name in ("veris", "elatior", "vulgaris")
        )
        cross = make_cross(
            tansy, seed_parent=veris, pollen="mixed", mixture=[(elatior, 1), (vulgaris, 1)]
        )
        written = "Primula veris × (P. elatior + P. vulgaris)"
        assert self.formula(signed_in(tansy), cross) == written

    def test_a_plant_called_open_is_still_a_plant(self, tansy, signed_in):
        cross = make_cross(tansy, seed_parent=make_plant(tansy, "open"))
        assert self.formula(signed_in(tansy), cross).startswith("(open) ×")


class TestFlowers:
    """A pollination through its pages."""

    def test_it_is_corrected_with_its_reason(self, tansy, signed_in):
        pollination = make_pollination(tansy)
        page = reverse("pollination-change", args=[pollination.number])
        assert 'value="2026-04-12"' in signed_in(tansy).get(page).content.decode()
        signed_in(tansy).post(page, FLOWER | {"flowers": "4", "why": "miscounted"})
        assert Pollination.objects.get().flowers == 4

    def test_fewer_flowers_than_capsules_is_refused(self, tansy, at):
        pollination = make_pollination(tansy, flowers=6)
        record_check(
            pollination=pollination, by=tansy, at=at, seen_on=MAY_10, kind="aborted", flowers=5
        )
        with pytest.raises(ValueError, match="only 3 were still there"):
            change_pollination(pollination=pollination, by=tansy, at=at, why="", flowers=3)
        assert Pollination.objects.get().flowers == 6

    def test_a_day_after_the_harvest_is_refused(self, tansy, at):
        pollination = make_pollination(tansy)
        take_in(tansy, pollination, at)
        with pytest.raises(Refused) as no:
            change_pollination(
                pollination=pollination,
                by=tansy,
                at=at,
                why="",
                pollinated_on=datetime.date(2026, 5, 12),
            )
        assert no.value.field == "pollinated_on"

    def test_a_harvested_flower_is_not_withdrawn(self, tansy, at):
        pollination = make_pollination(tansy)
        take_in(tansy, pollination, at)
        with pytest.raises(Refused) as no:
            withdraw_pollination(pollination=pollination, by=tansy, at=at, reason="a slip")
        assert no.value.code == "harvested"

    def test_it_is_touched_up_and_withdrawn_on_its_pages(self, tansy, signed_in):
        pollination, client = make_pollination(tansy), signed_in(tansy)
        client.post(
            reverse("pollination-touch-up", args=[pollination.number]),
            {"done_on": "2026-04-14", "pollen_state": "fresh"},
        )
        assert pollination.touch_ups.get().done_on == datetime.date(2026, 4, 14)
        client.post(
            reverse("pollination-withdraw", args=[pollination.number]), {"reason": "wrong plant"}
        )
        page = client.get(reverse("pollination-detail", args=[pollination.number]))
        assert "Withdrawn by Tansy Oddwater" in page.content.decode()

    def test_a_year_of_two_digits_is_asked_for_again(self, tansy, signed_in):
        pollination = make_pollination(tansy)
        answer = signed_in(tansy).post(
            reverse("pollination-change", args=[pollination.number]),
            FLOWER | {"pollinated_on": "0026-04-12"},
        )
        assert "four digits" in answer.context["form"].errors["pollinated_on"][0]

    def test_the_list_is_narrowed_by_state_and_season(self, tansy, at, signed_in):
        pollination = make_pollination(tansy)
        take_in(tansy, pollination, at)
        client, page = signed_in(tansy), reverse("pollination-list")
        assert not client.get(page).context["rows"]
        assert len(client.get(page, {"state": "harvested"}).context["rows"]) == 1
        assert not client.get(page, {"state": "all", "season": "2025"}).context["rows"]

    def test_a_look_that_cannot_be_taken_back_says_why(self, tansy, at, signed_in):
        pollination = make_pollination(tansy)
        check = record_check(
            pollination=pollination, by=tansy, at=at, seen_on=MAY_10, kind="swelling"
        )
        client = signed_in(tansy)
        undo = reverse("check-undo", args=[pollination.number, check.pk])
        client.post(undo)
        page = client.post(undo, follow=True).content.decode()
        assert "withdrawn already" in page

    def test_a_cross_of_two_seasons_with_one_number_asks_which(self, tansy, signed_in):
        crosses = [make_cross(tansy, own_number="7", season=season) for season in (2025, 2026)]
        answer = signed_in(tansy).post(reverse("pollination-add"), FLOWER | {"cross": "7"})
        message = answer.context["form"].errors["cross"][0]
        assert all(cross.number in message for cross in crosses)

    def test_a_cross_has_its_own_parents(self, tansy, signed_in):
        cross, other = make_cross(tansy), make_plant(tansy, "Primula other")
        answer = signed_in(tansy).post(
            reverse("pollination-add"),
            FLOWER | {"cross": cross.number, "seed_parent": other.number},
        )
        assert answer.context["form"].errors.keys() == {"seed_parent"}


class TestHarvests:
    """A harvest through its pages."""

    def test_seeds_are_counted_later(self, tansy, at, signed_in):
        harvest = take_in(tansy, make_pollination(tansy), at, seed_counting="not_yet", seeds=None)
        client = signed_in(tansy)
        detail = reverse("harvest-detail", args=[harvest.number])
        assert "not counted yet" in client.get(detail).content.decode()
        client.post(
            reverse("harvest-count", args=[harvest.number]),
            {"seed_counting": "guessed", "seeds": "60"},
        )
        assert "about 60 seeds, guessed" in client.get(detail).content.decode()

    def test_a_number_that_is_not_counted_asks_what_it_is(self, tansy, at, signed_in):
        harvest = take_in(tansy, make_pollination(tansy), at)
        answer = signed_in(tansy).post(
            reverse("harvest-count", args=[harvest.number]),
            {"seed_counting": "not_yet", "seeds": "60"},
        )
        assert answer.context["form"].errors.keys() == {"seed_counting"}

    def test_samples_belong_to_seed_by_weight(self, tansy, at, signed_in):
        harvest = take_in(tansy, make_pollination(tansy), at)
        page = reverse("harvest-count", args=[harvest.number])
        for typed in (
            {"seed_counting": "counted", "seeds": "60", "samples": "100 0.04"},
            {"seed_counting": "sampled", "samples": "100 0.04"},
        ):
            assert signed_in(tansy).post(page, typed).context["form"].errors

    def test_it_is_withdrawn_and_its_flower_open_again(self, tansy, at, signed_in):
        pollination = make_pollination(tansy)
        harvest = take_in(tansy, pollination, at)
        signed_in(tansy).post(
            reverse("harvest-withdraw", args=[harvest.number]), {"reason": "other tray"}
        )
        assert Harvest.objects.get().is_withdrawn
        assert Pollination.objects.get().state == "waiting"

    def test_nothing_is_left_to_harvest_says_so(self, tansy, at, signed_in):
        pollination = make_pollination(tansy)
        take_in(tansy, pollination, at)
        page = signed_in(tansy).get(reverse("harvest-add", args=[pollination.cross.number]))
        assert "No flower of this cross" in page.content.decode()

    @pytest.mark.parametrize("capsules", [[], "twice"])
    def test_capsules_come_from_flowers_each_once(self, tansy, at, capsules):
        pollination = make_pollination(tansy, flowers=4)
        with pytest.raises(Refused):
            log_harvest(
                cross=pollination.cross,
                by=tansy,
                at=at,
                harvested_on=MAY_10,
                capsules=[(pollination, 1)] * 2 if capsules else [],
                seed_counting="not_yet",
            )


class TestPlants:
    """A plant through its pages."""

    def test_it_dies_and_is_withdrawn_on_its_pages(self, tansy, signed_in):
        plant, client = make_plant(tansy), signed_in(tansy)
        client.post(reverse("plant-dead", args=[plant.number]), {"died_on": "2026-05-01"})
        assert Plant.objects.get().died_on == datetime.date(2026, 5, 1)
        client.post(reverse("plant-withdraw", args=[plant.number]), {"reason": "written twice"})
        page = client.get(reverse("plant-detail", args=[plant.number])).content.decode()
        assert "written twice" in page

    @pytest.mark.parametrize(
        ("facts", "field"),
        [
            ({"origin": "cross"}, "raised_from"),
            ({"origin": "division"}, "propagated_from"),
            (
                {
                    "acquired_on": datetime.date(2026, 5, 2),
                    "died_on": datetime.date(2026, 5, 1),
                },
                "died_on",
            ),
            ({"ploidy": 40}, ""),
        ],
    )
    def test_what_cannot_be_is_refused(self, tansy, facts, field):
        with pytest.raises(Refused) as no:
            make_plant(tansy, **facts)
        assert no.value.field == field

    def test_inbreeding_is_stated_of_founders_only(self, tansy):
        with pytest.raises(Refused) as no:
            make_plant(
                tansy,
                "N-1",
                origin="cross",
                raised_from=make_cross(tansy),
                stated_inbreeding=1.0,
            )
        assert no.value.field == "stated_inbreeding"

    def test_raised_from_a_cross_or_divided_not_both(self, tansy, signed_in):
        cross, plant = make_cross(tansy, own_number="26-01"), make_plant(tansy)
        answer = signed_in(tansy).post(
            reverse("plant-add"),
            {
                "name_text": "N-1",
                "origin": "unknown",
                "visibility": "society",
                "raised_from": cross.number,
                "propagated_from": plant.number,
            },
        )
        assert "propagated_from" in answer.context["form"].errors

    def test_a_plant_with_divisions_is_not_withdrawn(self, tansy, signed_in):
        plant = make_plant(tansy)
        make_plant(tansy, "Primula", origin="division", propagated_from=plant)
        answer = signed_in(tansy).post(
            reverse("plant-withdraw", args=[plant.number]), {"reason": "a slip"}
        )
        assert "propagated from this one" in answer.content.decode()

    def test_the_list_finds_by_taxon_and_keeper(self, tansy, cosmo, signed_in):
        make_plant(cosmo, "Primula veris")
        client = signed_in(tansy)

        def found(**asked):
            return len(client.get(reverse("plant-list"), asked).context["page_obj"].object_list)

        assert found(q="Dribblethwaite") == 1
        assert found(q="Quagmire") == 0
        assert found(whose="own") == 0
