"""A file that says otherwise of what is here: corrected where the rules allow, else told why not."""

import datetime

import pytest

from crosses.models import Cross, Plant, Pollination
from seedbank.bank.models import Lot, Movement
from seedbank.sowings.models import Count, Replicate, Sowing
from tests.factories.crosses import make_cross
from tests.factories.sowings import make_sowing
from tests.transfer.conftest import bring

pytestmark = pytest.mark.django_db

PLANTS = "label,name,form\nQS,Primula 'Quillfeather Smoke',thrum\nOL,Primula 'Oddwater Lemon',pin\n"
CROSSES = "own number,season,seed parent,pollen parent,aim\n01,2025,QS,OL,hardier\n"
POLLINATIONS = "tag,cross,date,flowers\nT1,01,2025-03-02,6\n"
LOTS = "key,name,year,seeds,note\nG1,Primula vulgaris,2025,200,cleaned twice\n"
PACKETS = "lot,packets,seeds_each,made_on\nG1,2,50,2025-09-01\n"
SOWINGS = "key,lot,sown_on,seeds,pots\nS1,G1,2025-10-01,50,25; 25\n"
COUNTS = "sowing,date,number,note\nS1,2025-11-01,4,first\nS1,2025-11-08,6,\n"


@pytest.fixture
def grown(tansy):
    tables = {
        "plants": PLANTS,
        "crosses": CROSSES,
        "pollinations": POLLINATIONS,
        "lots": LOTS,
        "packets": PACKETS,
        "sowings": SOWINGS,
        "counts": COUNTS,
    }
    for kind, text in tables.items():
        report = bring(kind, text, tansy)
        assert report.is_saved, report.problems
    return tansy


def only_problem(report):
    (problem,) = report.problems
    return problem


def test_a_lot_is_corrected(grown):
    report = bring("lots", LOTS.replace("200", "180").replace("twice", "once"), grown)
    assert report.count("changed") == 1
    lot = Lot.objects.get()
    assert (lot.seeds, lot.note, lot.history.count()) == (180, "cleaned once", 2)


def test_a_lot_cannot_have_fewer_seeds_than_its_packets(grown):
    problem = only_problem(bring("lots", LOTS.replace("200", "80"), grown))
    assert (problem.row_number, problem.column) == (2, "seeds")
    assert "Packets made of this lot hold 100 seeds" in problem.message


def test_a_column_the_file_has_not_says_nothing(grown):
    report = bring("lots", "key,name,year\nG1,Primula vulgaris,2025\n", grown)
    assert report.count("same") == 1
    assert Lot.objects.get().note == "cleaned twice"


def test_the_aim_of_a_cross_is_corrected_and_its_parents_are_not(grown):
    assert bring("crosses", CROSSES.replace("hardier", "earlier"), grown).count("changed") == 1
    assert Cross.objects.get().aim == "earlier"
    problem = only_problem(bring("crosses", CROSSES.replace("QS,OL", "OL,QS"), grown))
    assert problem.column == "seed_parent"
    assert "withdraw it and plan it again" in problem.message


def test_a_pollination_is_corrected(grown):
    assert bring("pollinations", POLLINATIONS.replace(",6", ",5"), grown).count("changed") == 1
    assert Pollination.objects.get().flowers == 5


def test_a_count_is_corrected_and_the_first_one_stays_to_be_read(grown):
    assert bring("counts", COUNTS.replace(",6,", ",3,"), grown).count("changed") == 1
    assert Replicate.objects.get(position=1).germinated == 7
    withdrawn = Count.objects.exclude(withdrawn_at=None).get()
    assert withdrawn.newly_seen == 6
    assert bring("counts", COUNTS.replace(",6,", ",3,"), grown).count("same") == 2


def test_what_was_sown_is_not_changed_by_a_file(grown):
    problem = only_problem(bring("sowings", SOWINGS.replace("2025-10-01", "2025-10-02"), grown))
    assert problem.column == "sown_on"
    problem = only_problem(bring("sowings", SOWINGS.replace("25; 25", "20; 30"), grown))
    assert problem.column == "pots"


def test_a_sowing_is_closed_by_a_later_file(grown):
    text = SOWINGS.replace("pots\n", "pots,closed_on\n").replace("25; 25", "25; 25,2026-01-05")
    assert bring("sowings", text, grown).count("changed") == 1
    assert Sowing.objects.get().closed_on == datetime.date(2026, 1, 5)
    assert bring("sowings", text, grown).count("same") == 1


def test_packets_that_are_here_are_not_changed_by_a_file(grown):
    text = PACKETS.replace("made_on", "made_on,batch").replace("2025-09-01", "2025-09-01,spring")
    assert bring("packets", text, grown).count("new") == 1
    problem = only_problem(bring("packets", text.replace("G1,2,50", "G1,1,50"), grown))
    assert "This batch is here as 2 packets of 50 seeds" in problem.message


def test_what_was_withdrawn_is_not_brought_back_by_its_row(grown, at):
    from crosses.actions.pollination import withdraw_pollination

    withdraw_pollination(
        pollination=Pollination.objects.get(), by=grown, at=at, reason="mislabelled"
    )
    problem = only_problem(bring("pollinations", POLLINATIONS, grown))
    assert problem.message == "This pollination was withdrawn: mislabelled"


def test_the_packet_of_a_sowing_leaves_on_the_day_of_the_sowing(grown):
    sown = Movement.objects.get(kind=Movement.Kind.SOWN)
    assert sown.at.date() == datetime.date(2025, 10, 1)


def test_any_lot_is_for_the_demo_alone(grown):
    problem = only_problem(bring("sowings", SOWINGS.replace("S1,G1", "S2,any"), grown))
    assert problem.column == "lot"


def test_the_history_names_who_brings_it_in(grown, ignatius, tansy):
    text = "label,name,keeper\nZ1,Primula veris,0001\n"
    assert bring("plants", text, ignatius).is_saved
    line = Plant.objects.get(own_label="Z1").history.get()
    assert (line.history_user, line.keeper) == (ignatius, tansy)


def test_a_keeper_who_brings_in_pollinations_makes_the_growers_cross(grown, ignatius, tansy):
    text = "tag,cross,date,grower,seed_parent,pollen_parent\nT9,77,2025-03-04,0001,QS,OL\n"
    assert bring("pollinations", text, ignatius).is_saved
    cross = Cross.objects.get(own_number="77")
    assert (cross.grower, cross.history.get().history_user) == (tansy, ignatius)


def test_every_wrong_cell_of_a_row_is_told(grown):
    text = "label,name,form,acquired_on,ploidy\n,Primula veris,round,1.2.25,two\n"
    report = bring("plants", text, grown)
    assert [problem.column for problem in report.problems] == [
        "label",
        "style_form",
        "ploidy",
        "acquired_on",
    ]
    text = "own number,season,seed parent,pollen parent\n02,2025,Nobody,Nothing\n"
    report = bring("crosses", text, grown)
    assert [problem.column for problem in report.problems] == ["seed_parent", "pollen_parent"]


def test_a_wrong_row_of_a_harvest_is_told_at_that_row(grown):
    text = "key,pollination,capsules,date,seeds\nH1,T1,2,2025-07-01,90\nH1,T2,2,2025-07-01,90\n"
    problem = only_problem(bring("harvests", text, grown))
    assert (problem.row_number, problem.column) == (3, "pollination")
    bring("pollinations", POLLINATIONS.replace("T1", "T2"), grown)
    problem = only_problem(bring("harvests", text.replace("T2,2", "T2,9"), grown))
    assert (problem.row_number, problem.column) == (3, "capsules")


def test_a_lot_of_a_donation_that_is_short_is_told_at_its_row(grown):
    bring("lots", LOTS.replace("G1", "G2"), grown)
    bring("packets", PACKETS.replace("G1", "G2"), grown)
    text = "key,lot,packets\nD1,G2,2\nD1,G1,9\n"
    problem = only_problem(bring("donations", text, grown))
    assert (problem.row_number, problem.column) == (3, "packets")


def test_pots_that_are_no_numbers_are_refused_and_not_passed_over(grown):
    text = SOWINGS.replace("S1", "S2").replace("25; 25", "25; two")
    problem = only_problem(bring("sowings", text, grown))
    assert (problem.column, "'two'" in problem.message) == ("pots", True)


def test_a_count_of_a_day_that_a_page_counted_is_refused_in_words(tansy):
    sowing = make_sowing(tansy)
    day = sowing.sown_on + datetime.timedelta(days=9)
    text = f"sowing,date,number\n{sowing.number},{day},3\n"
    assert bring("counts", text, tansy).is_saved
    Count.objects.update(client_key=None)
    problem = only_problem(bring("counts", text, tansy))
    assert (problem.column, "a count of" in problem.message) == ("counted_on", True)


def test_the_time_of_a_pollination_comes_in_and_is_put_right(tansy, brought_in):
    make_cross(tansy, season=2026, own_number="7")
    head = "key,cross,pollinated_on,pollinated_time"
    brought_in("pollinations", f"{head}\nA,7,2026-04-12,9:40", tansy)
    assert str(Pollination.objects.get().pollinated_time) == "09:40:00"
    brought_in("pollinations", f"{head}\nA,7,2026-04-12,14:05", tansy)
    assert str(Pollination.objects.get().pollinated_time) == "14:05:00"
