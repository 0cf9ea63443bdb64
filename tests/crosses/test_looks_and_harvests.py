"""Looks add up to a state that is never typed; harvests take capsules that can be there."""

import datetime
import uuid
from decimal import Decimal

import pytest
from django.urls import reverse

from crosses.actions.capsule import record_check, withdraw_check
from crosses.actions.harvest import count_seeds, log_harvest, withdraw_harvest
from crosses.base.refusal import Refused
from crosses.models import Check, Harvest, Pollination, SeedSample
from tests.factories.crosses import TaxonFactory, make_cross, make_plant, make_pollination

MAY_1 = datetime.date(2026, 5, 1)
MAY_10 = datetime.date(2026, 5, 10)
# jobmap G4 scene 4: three samples of 1,000 seeds and the clean weight; weights invented.
SAMPLES = [(1000, Decimal("0.41")), (1000, Decimal("0.40")), (1000, Decimal("0.42"))]


@pytest.fixture
def pollination(tansy):
    return make_pollination(tansy, flowers=6)


@pytest.fixture
def look(tansy, at, pollination):
    def see(kind, flowers=None, seen_on=MAY_1, **facts):
        return record_check(
            pollination=pollination,
            by=tansy,
            at=at,
            seen_on=seen_on,
            kind=kind,
            flowers=flowers,
            **facts,
        )

    return see


@pytest.fixture
def take_in(tansy, at, pollination):
    def harvest(capsules=5, **facts):
        wanted = {"harvested_on": MAY_10, "seed_counting": "counted", "seeds": 290} | facts
        return log_harvest(
            cross=pollination.cross,
            by=tansy,
            at=at,
            capsules=[(pollination, capsules)],
            **wanted,
        )

    return harvest


class TestLooks:
    """What is seen of a flower."""

    def test_a_swelling_ovary_has_taken(self, pollination, look):
        look("swelling", 5)
        assert (pollination.state, pollination.capsules_set) == ("taken", 5)

    def test_a_look_sent_twice_is_one_look(self, pollination, look):
        key = uuid.UUID(int=1)
        assert look("swelling", 5, client_key=key) == look("swelling", 5, client_key=key)
        assert Check.objects.count() == 1

    def test_a_look_taken_back_is_as_if_nobody_had_looked_but_stays(
        self, pollination, look, tansy, at
    ):
        check = look("swelling", 5)
        withdraw_check(check=check, by=tansy, at=at, reason="wrong flower")
        pollination.refresh_from_db()
        assert (pollination.state, pollination.capsules_set) == ("waiting", 0)
        assert Check.objects.get().withdrawn_reason == "wrong flower"

    def test_a_look_before_the_pollination_is_refused_at_its_day(self, look):
        with pytest.raises(Refused) as no:
            look("swelling", seen_on=datetime.date(2026, 4, 11))
        assert no.value.field == "seen_on"

    def test_a_look_to_come_is_refused_at_its_day(self, look, today):
        with pytest.raises(Refused) as no:
            look("swelling", seen_on=today + datetime.timedelta(days=1))
        assert no.value.field == "seen_on"

    def test_a_capsule_does_not_split_on_the_day_of_pollination(self, look):
        with pytest.raises(Refused) as no:
            look("split", seen_on=datetime.date(2026, 4, 12))
        assert no.value.field == "seen_on"
        assert not Check.objects.exists()

    def test_more_gone_than_there_were_is_refused_and_not_written(self, pollination, look):
        look("aborted", 4)
        with pytest.raises(Refused) as no:
            look("eaten", 3, seen_on=MAY_10)
        assert no.value.field == "flowers"
        assert Check.objects.count() == 1

    def test_the_state_has_a_history(self, pollination, look):
        look("swelling", 5)
        look("colouring", seen_on=MAY_10)
        told = pollination.history.order_by("history_date", "history_id")
        assert [version.state for version in told] == ["waiting", "taken", "ripe"]


class TestHarvests:
    """What is taken in."""

    def test_a_harvest_of_all_that_set_closes_the_flower(self, pollination, look, take_in):
        look("swelling", 5)
        look("aborted", 1)
        take_in(5)
        pollination.refresh_from_db()
        assert (pollination.state, pollination.capsules_harvested) == ("harvested", 5)

    def test_a_harvest_sent_twice_is_one_harvest(self, take_in):
        key = uuid.UUID(int=2)
        assert take_in(client_key=key) == take_in(client_key=key)
        assert Harvest.objects.count() == 1

    def test_no_more_capsules_than_flowers_left(self, pollination, take_in):
        take_in(4)
        with pytest.raises(Refused) as no:
            take_in(3)
        assert no.value.field == f"capsules_{pollination.number}"
        assert "only 2 of its 6 flowers" in no.value.message

    def test_a_harvest_before_the_pollination_is_refused_at_its_day(self, take_in):
        with pytest.raises(Refused) as no:
            take_in(harvested_on=datetime.date(2026, 4, 1))
        assert no.value.field == "harvested_on"
        assert "12 April 2026" in no.value.message

    def test_a_harvest_is_of_one_cross(self, tansy, at, pollination):
        with pytest.raises(Refused) as no:
            log_harvest(
                cross=make_cross(tansy),
                by=tansy,
                at=at,
                harvested_on=MAY_10,
                capsules=[(pollination, 1)],
                seed_counting="not_yet",
            )
        assert no.value.code == "other-cross"

    def test_seeds_by_weight_carry_their_interval(self, take_in):
        harvest = take_in(
            seeds=None,
            seed_counting="sampled",
            samples=SAMPLES,
            clean_grams=Decimal("1.72"),
        )
        # Worked by hand from the samples: 1.72 / 0.41 * 1000 and Student's t on 2 degrees (4.303).
        assert harvest.seeds == 4195
        assert 3930 < harvest.seeds_low < 3950
        assert 4440 < harvest.seeds_high < 4460
        assert harvest.thousand_seed_weight_grams == pytest.approx(0.41)
        assert harvest.samples.count() == 3

    def test_samples_that_scatter_give_no_number(self, take_in):
        with pytest.raises(Refused) as no:
            take_in(
                seeds=None,
                seed_counting="sampled",
                samples=[(1000, Decimal("0.2")), (1000, Decimal("0.6"))],
                clean_grams=Decimal("1.72"),
            )
        assert no.value.field == "samples"
        assert not Harvest.objects.exists()

    def test_counted_seed_has_a_number(self, take_in):
        with pytest.raises(Refused) as no:
            take_in(seeds=None)
        assert no.value.field == "seeds"

    def test_without_its_tag_nobody_is_wholly_sure(self, take_in):
        with pytest.raises(Refused) as no:
            take_in(identified_by="place_and_date")
        assert no.value.field == "certainty_percent"
        harvest = take_in(identified_by="place_and_date", certainty_percent=90)
        assert harvest.certainty_percent == 90

    def test_a_second_count_keeps_the_samples_of_the_first(self, take_in, tansy):
        harvest = take_in(
            seeds=None, seed_counting="sampled", samples=SAMPLES, clean_grams=Decimal("1.72")
        )
        count_seeds(harvest=harvest, by=tansy, seed_counting="counted", seeds=4100)
        harvest.refresh_from_db()
        assert (harvest.seeds, harvest.seeds_low) == (4100, None)
        assert not harvest.samples.exists()
        assert SeedSample.history.filter(history_type="-").count() == 3

    def test_a_withdrawn_harvest_opens_its_capsules_again(self, pollination, take_in, tansy, at):
        withdraw_harvest(harvest=take_in(5), by=tansy, at=at, reason="other tray")
        kept = Pollination.objects.get()
        assert (kept.state, kept.capsules_harvested) == ("waiting", 0)


class TestHarvestPages:
    """The same through the pages."""

    def typed(self, pollination, **typed):
        return {
            f"capsules_{pollination.number}": "5",
            "harvested_on": "2026-05-10",
            "seed_counting": "counted",
            "seeds": "290",
            "identified_by": "tag",
            "certainty_percent": "100",
        } | typed

    def send(self, client, pollination, **typed):
        page = reverse("harvest-add", args=[pollination.cross.number])
        return client.post(page, self.typed(pollination, **typed))

    def test_a_harvest_is_logged_and_shown(self, tansy, pollination, signed_in):
        client = signed_in(tansy)
        answer = self.send(client, pollination)
        page = client.get(answer.headers["Location"]).content.decode()
        assert "290 seeds, counted" in page
        assert "58 (mean of 5" in page

    def test_counted_seed_leads_on_to_its_packets_and_uncounted_seed_waits(
        self, tansy, pollination, signed_in
    ):
        fields = {f"capsules_{pollination.number}": "2"}
        counted = self.send(signed_in(tansy), pollination, **fields)
        waiting = self.send(
            signed_in(tansy), pollination, **fields, seeds="", seed_counting="not_yet"
        )
        first, second = Harvest.objects.order_by("pk")
        assert counted.url == reverse("lot-from-harvest", args=[first.number])
        assert waiting.url == reverse("harvest-detail", args=[second.number])

    def test_what_samples_come_to_is_told_before_anything_is_written_down(
        self, tansy, pollination, signed_in
    ):
        weighed = {"samples": "1000 0.41\n1000 0.40\n1000 0.42", "clean_grams": "1.72"}
        answer = self.send(signed_in(tansy), pollination, reckon="yes", **weighed)
        assert "About 4,200 seeds (95 % 3,940-4,450" in answer.text
        assert not Harvest.objects.exists()

    def test_samples_without_the_whole_weight_are_asked_for_it(self, tansy, pollination, signed_in):
        answer = self.send(signed_in(tansy), pollination, reckon="yes", samples="1000 0.41")
        assert answer.context["form"].errors == {"clean_grams": ["Weigh all the clean seed."]}

    def test_a_day_before_the_pollination_is_told_at_its_field(self, tansy, pollination, signed_in):
        answer = self.send(signed_in(tansy), pollination, harvested_on="2026-04-01", note="tray 3")
        assert answer.context["form"].errors.keys() == {"harvested_on"}
        assert "tray 3" in answer.content.decode()

    def test_samples_are_typed_a_line_each_with_a_comma_if_one_likes(
        self, tansy, pollination, signed_in
    ):
        client = signed_in(tansy)
        answer = self.send(
            client,
            pollination,
            seeds="",
            seed_counting="sampled",
            samples="1000 0,41\n1000 0.40\n1000 0.42 g",
            clean_grams="1.72",
        )
        page = client.get(answer.headers["Location"]).content.decode()
        assert "About 4,200 seeds (95 % 3,940-4,450" in page

    def test_a_line_that_is_no_sample_is_named(self, tansy, pollination, signed_in):
        answer = self.send(signed_in(tansy), pollination, samples="a pinch")
        assert "a pinch" in answer.context["form"].errors["samples"][0]

    def test_no_capsule_is_no_harvest(self, tansy, pollination, signed_in):
        answer = self.send(signed_in(tansy), pollination, **{f"capsules_{pollination.number}": ""})
        assert answer.context["form"].non_field_errors()
        assert not Harvest.objects.exists()

    def test_the_caution_of_its_genus_stands_where_seed_is_taken(self, tansy, signed_in):
        TaxonFactory(species="", hazard_note="Its hairs irritate the skin: wear gloves.")
        pollination = make_pollination(
            tansy, make_cross(tansy, seed_parent=make_plant(tansy, taxon=TaxonFactory()))
        )
        page = signed_in(tansy).get(reverse("harvest-add", args=[pollination.cross.number]))
        assert "wear gloves" in page.content.decode()

    def test_another_reads_a_harvest_and_does_not_change_it(
        self, tansy, cosmo, pollination, take_in, signed_in
    ):
        harvest, client = take_in(), signed_in(cosmo)
        read = client.get(reverse("harvest-detail", args=[harvest.number]))
        assert read.status_code == 200
        for page in ("harvest-count", "harvest-withdraw"):
            assert client.get(reverse(page, args=[harvest.number])).status_code == 403
        assert (
            client.get(reverse("harvest-add", args=[pollination.cross.number])).status_code == 403
        )

    def test_eight_samples_are_read_by_the_rules_of_seed_testing(self, tansy, take_in, signed_in):
        # Eight replicates of 100 of a Dimorphotheca, grams as printed by a seed laboratory:
        # 2.132625 g per 1,000 and a coefficient of variation of 2.0145 % (limit 4.0 %).
        grams = ["0.2224", "0.2134", "0.2130", "0.2116", "0.2145", "0.2071", "0.2116", "0.2125"]
        harvest = take_in(
            seed_counting="sampled",
            seeds=None,
            samples=[(100, Decimal(one)) for one in grams],
            clean_grams=Decimal("2.50"),
        )
        page = signed_in(tansy).get(reverse("harvest-detail", args=[harvest.number]))
        text = page.content.decode()
        assert "2.133 g per 1,000 seeds" in text
        assert "scatter 2.0 %, accepted, the limit is 4.0 %" in text
