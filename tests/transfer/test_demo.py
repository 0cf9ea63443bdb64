"""The demo society is what its plan says, to the number; it comes in by the code that members' files take.

Figures: the project's own plan of the invented society, except where a source is named.
"""

import datetime
import importlib.util
import sys
from collections import Counter
from pathlib import Path

import pytest
from django.db.models import Count, F, Sum
from django.test import TestCase

from crosses.base.clock import now, today
from crosses.base.refusal import Refused
from crosses.models import Cross, Harvest, Plant, Pollination
from seedbank.bank.models import DonationLine, Packet
from seedbank.calc.allocation import read_inputs, result_document, sha256, share
from seedbank.exchange.models import Parcel, Round, Wish, WishList
from seedbank.members.models import Member
from seedbank.sowings.models import Count as SeedlingCount
from seedbank.sowings.models import Sowing
from seedbank.transfer.demo import FOLDER, load_demo

# Own number: flowers, capsules set, harvested, seeds, packets given to the bank.
TEN = {
    "01": (6, 5, 5, 290, 8),
    "02": (6, 6, 5, 315, 9),
    "03": (8, 4, 4, 62, 1),
    "04": (5, 1, 1, 11, 0),
    "05": (10, 9, 8, 560, 16),
    "06": (10, 9, 9, 610, 18),
    "07": (12, 11, 11, 720, 21),
    "09": (7, 2, 2, 48, 1),
    "10": (8, 5, 3, 96, 2),
    "11": (9, 0, 0, 0, 0),
}


def test_the_tables_are_what_their_maker_writes(tmp_path, monkeypatch):
    monkeypatch.syspath_prepend(str(FOLDER))
    spec = importlib.util.spec_from_file_location("make", FOLDER / "make.py")
    make = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(make)
    monkeypatch.setattr(sys.modules["choose"], "HERE", tmp_path)
    make.main()
    written = {path.name: path.read_bytes() for path in tmp_path.glob("*.csv")}
    assert written == {path.name: path.read_bytes() for path in FOLDER.glob("*.csv")}
    for name in ("choose", "people", "growing", "seed", "wishing"):
        sys.modules.pop(name, None)


def _figures(own_number: str) -> tuple[int, int, int, int, int]:
    cross = Cross.objects.get(grower__number="0001", own_number=own_number)
    flowers = cross.pollinations.aggregate(
        flowers=Sum("flowers"), taken=Sum("capsules_set"), harvested=Sum("capsules_harvested")
    )
    seeds = cross.harvests.aggregate(seeds=Sum("seeds"))["seeds"] or 0
    given = DonationLine.objects.filter(lot__harvest__cross=cross)
    packets = given.aggregate(packets=Sum("packets_received"))["packets"] or 0
    return flowers["flowers"], flowers["taken"], flowers["harvested"], seeds, packets


@pytest.mark.slow
class TestTheSociety(TestCase):
    """Loaded once for all of these."""

    @classmethod
    def setUpTestData(cls):
        load_demo(at=now(), today=today(), say=lambda words: None)

    def test_the_society_has_its_size(self):
        assert Member.objects.count() == 184
        assert Member.objects.exclude(country="GB").count() == 23
        assert Member.objects.exclude(donor_code=None).count() == 41
        assert Plant.objects.count() == 180
        assert Cross.objects.count() == 320
        assert Pollination.objects.count() == 600
        assert Sowing.objects.count() == 260
        assert SeedlingCount.objects.count() == 3000

    def test_the_bank_was_given_its_lots_and_packets(self):
        given = DonationLine.objects.filter(answer="accepted")
        assert given.count() == 212
        assert given.aggregate(packets=Sum("packets_received"))["packets"] == 3816
        assert given.values("donation__donor").distinct().count() == 41

    def test_plants_stand_in_four_generations_with_known_half_known_and_unknown_parents(self):
        assert Plant.objects.filter(raised_from__pollen="plant").exists()
        assert Plant.objects.filter(raised_from__pollen__in=["open", "unknown"]).exists()
        assert Plant.objects.filter(raised_from=None, propagated_from=None).exists()
        deep = Plant.objects.filter(
            raised_from__seed_parent__raised_from__seed_parent__raised_from__isnull=False
        )
        assert deep.exists()
        genera = Counter(plant.name_text.split()[0] for plant in Plant.objects.all())
        assert set(genera) == {"Primula", "Streptocarpus", "Hippeastrum"}

    def test_the_ten_crosses_are_there_to_the_number(self):
        for own_number, expected in TEN.items():
            with self.subTest(cross=own_number):
                assert _figures(own_number) == expected

    def test_the_control_set_nothing_and_the_open_pollinated_lot_was_weighed(self):
        control = Cross.objects.get(grower__number="0001", own_number="08").pollinations.get()
        assert (control.flowers, control.capsules_set, control.is_bagged) == (10, 0, True)
        weighed = Harvest.objects.get(cross__grower__number="0001", cross__own_number="12")
        # The invented weights of scene 4: Student's t with two degrees of freedom.
        assert weighed.seeds == pytest.approx(4195, abs=1)
        assert weighed.seeds_low == pytest.approx(3940, abs=10)
        assert weighed.seeds_high == pytest.approx(4450, abs=10)

    def test_failures_losses_and_flowers_due_this_week_are_among_them(self):
        states = Counter(Pollination.objects.values_list("state", flat=True))
        assert (
            min(states[state] for state in ("waiting", "taken", "failed", "harvested", "lost")) >= 5
        )
        recent = today() - datetime.timedelta(days=140)
        assert Pollination.objects.filter(state="taken", pollinated_on__gt=recent).count() > 10

    def test_the_finished_round_is_shared_out_and_posted(self):
        finished = Round.objects.order_by("list_opens_at").first()
        assert WishList.objects.filter(round=finished).count() == 122
        assert Wish.objects.filter(wish_list__round=finished, is_reserve=False).count() == 2820
        asked = Counter(
            Wish.objects.filter(wish_list__round=finished).values_list("line", flat=True)
        )
        stock = dict(
            finished.lines.annotate(n=Count("lot__packets")).values_list(
                "pk", "lot__donation_lines__packets_received"
            )
        )
        short = [line for line, packets in stock.items() if packets < 12 and asked[line] > 40]
        assert len(short) == 14
        assert (11, 44) in {(stock[line], asked[line]) for line in short}
        parcels = Parcel.objects.filter(round=finished, cancelled_at=None)
        assert parcels.count() == 122
        assert not parcels.filter(posted_on=None).exists()

    def test_the_draw_replays_to_the_same_result(self):
        run = Round.objects.order_by("list_opens_at").first().runs.get()
        inputs = read_inputs(run.inputs.encode())
        assert sha256(result_document(inputs, share(inputs))) == run.result_digest

    def test_the_ledger_adds_up(self):
        states = Counter(Packet.objects.values_list("state", flat=True))
        assert sum(states.values()) == Packet.objects.count()
        assert states["in_store"] + states["sent"] + states["sown"] + states["with_member"] == sum(
            states.values()
        )
        assert (
            not Packet.objects.annotate(steps=Count("movements"))
            .exclude(steps=F("last_step"))
            .exists()
        )

    def test_one_round_is_open_with_wishes_in_it(self):
        going_on = Round.objects.order_by("-list_opens_at").first()
        assert going_on.takes_wishes_at(now())
        assert going_on.wish_lists.count() == 30

    def test_a_second_society_is_never_poured_over_the_first(self):
        with pytest.raises(Refused, match="holds a society already"):
            load_demo(at=now(), today=today(), say=lambda words: None)


def test_the_readme_of_the_tables_says_that_all_is_invented():
    assert "invented" in (Path(FOLDER) / "README.txt").read_text()
