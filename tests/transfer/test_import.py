"""Tables that people bring in: what is wrong is told at its cell, and half a file is never saved."""

import pytest

from crosses.base.clock import now, today
from crosses.calc.errors import BadInput
from crosses.models import Plant
from seedbank.bank.models import Lot
from seedbank.sowings.models import Count
from seedbank.transfer.cells import Importing
from seedbank.transfer.importing import import_table
from seedbank.transfer.kinds import KINDS

pytestmark = pytest.mark.django_db

PLANTS = "label,name,form\nQS,Primula 'Quillfeather Smoke',thrum\nOL,Primula 'Oddwater Lemon',pin\n"
CROSSES = "own number,season,seed parent,pollen parent\n01,2026,QS,OL\n"
POLLINATIONS = "tag,cross,season,date,flowers\nT1,01,2026,2026-03-02,6\n"


def bring(kind, text, by, *, is_trial=False):
    data = text.encode() if isinstance(text, str) else text
    return import_table(
        KINDS[kind], data, f"{kind}.csv", Importing(by, now(), today()), is_trial=is_trial
    )


def only_problem(report):
    assert len(report.problems) == 1, report.problems
    return report.problems[0]


@pytest.fixture
def crossed(tansy):
    for kind, text in (("plants", PLANTS), ("crosses", CROSSES), ("pollinations", POLLINATIONS)):
        assert bring(kind, text, tansy).is_saved
    return tansy


def test_the_same_file_twice_changes_nothing(tansy):
    assert bring("plants", PLANTS, tansy).count("new") == 2
    again = bring("plants", PLANTS, tansy)
    assert again.count("same") == 2
    assert Plant.objects.count() == 2


def test_a_corrected_cell_changes_its_row_and_keeps_its_history(tansy):
    bring("plants", PLANTS, tansy)
    report = bring("plants", PLANTS.replace("thrum", "pin"), tansy)
    assert (report.count("changed"), report.count("same")) == (1, 1)
    assert Plant.objects.get(own_label="QS").history.count() == 2


def test_a_trial_saves_nothing(tansy):
    report = bring("plants", PLANTS, tansy, is_trial=True)
    assert report.count("new") == 2
    assert not report.is_saved
    assert not Plant.objects.exists()


def test_a_wrong_heading_is_told_with_the_one_that_was_meant(tansy):
    with pytest.raises(BadInput, match="no column 'label'; did you mean 'lable'"):
        bring("plants", PLANTS.replace("label", "lable"), tansy)


def test_every_wrong_row_is_told_and_the_right_ones_wait(tansy):
    report = bring("plants", PLANTS + "X1,,pin\nX2,Primula veris,upright\n", tansy)
    assert [(p.row_number, p.column) for p in report.problems] == [(4, "name"), (5, "style_form")]
    assert not Plant.objects.exists()


def test_a_bad_date_is_told_at_its_cell_with_what_was_typed(crossed):
    problem = only_problem(
        bring(
            "pollinations",
            POLLINATIONS.replace("T1", "T2").replace("2026-03-02", "2.3.26"),
            crossed,
        )
    )
    assert (problem.row_number, problem.column, problem.typed) == (2, "pollinated_on", "2.3.26")
    assert "year-month-day" in problem.message


def test_a_date_still_to_come_is_refused(crossed):
    problem = only_problem(
        bring(
            "pollinations", POLLINATIONS.replace("T1", "T2").replace("2026-03", "2099-03"), crossed
        )
    )
    assert (problem.column, problem.message) == ("pollinated_on", "This day is still to come.")


def test_a_formula_in_a_cell_is_refused(tansy):
    problem = only_problem(bring("plants", "label,name\nQS,=1+1\n", tansy))
    assert problem.column == "name"
    assert "looks like a formula" in problem.message


def test_a_harvest_before_its_pollination_is_refused(crossed):
    text = "key,tag,capsules,date,seeds\nH1,T1,5,2026-02-01,200\n"
    problem = only_problem(bring("harvests", text, crossed))
    assert problem.column == "harvested_on"
    assert "pollinated on 2 March 2026" in problem.message


def test_the_same_plant_on_both_sides_must_be_called_a_selfing(crossed):
    problem = only_problem(
        bring("crosses", CROSSES.replace("01,", "02,").replace("OL", "QS"), crossed)
    )
    assert problem.column == "pollen_parent"
    assert "self" in problem.message


def test_a_label_used_twice_in_one_file_is_refused(tansy):
    problem = only_problem(bring("plants", PLANTS + "QS,Primula veris,pin\n", tansy))
    assert (problem.row_number, problem.column) == (4, "label")
    assert "Row 2 has the same label" in problem.message
    assert not Plant.objects.exists()


def test_two_members_may_call_their_lots_alike(tansy, cosmo):
    text = "lot,name,year,seeds\nGARDEN-01,Primula veris,2025,40\n"
    assert bring("lots", text, tansy).count("new") == 1
    assert bring("lots", text, cosmo).count("new") == 1
    assert set(Lot.objects.values_list("owner", flat=True)) == {tansy.pk, cosmo.pk}


def test_a_plant_that_another_keeps_private_is_not_found(tansy, cosmo):
    bring("plants", "label,name,visibility\nHID,Primula veris,private\n", cosmo)
    bring("plants", PLANTS, tansy)
    problem = only_problem(bring("crosses", CROSSES.replace("OL", "HID"), tansy))
    assert problem.column == "pollen_parent"


def test_a_count_above_what_was_sown_is_refused_and_no_count_of_the_file_is_kept(crossed):
    bring("checks", "tag,date,seen,flowers\nT1,2026-03-30,swelling,5\n", crossed)
    bring("harvests", "key,tag,capsules,date,seeds\nH1,T1,5,2026-06-20,200\n", crossed)
    bring("lots", "lot,harvest\nL1,H1\n", crossed)
    bring("packets", "lot,packets,seeds\nL1,2,25\n", crossed)
    bring(
        "sowings",
        "pot,lot,date,seeds,pretreatments\nS1,L1,2026-07-01,20,cold 28 d 4 C; smoke\n",
        crossed,
    )
    counts = "sowing,date,number\nS1,2026-07-10,8\nS1,2026-07-20,13\n"
    problem = only_problem(bring("counts", counts, crossed))
    assert (problem.row_number, problem.column) == (3, "number")
    assert "more than the 20 seeds" in problem.message
    assert not Count.objects.exists()


def test_nobody_brings_in_another_members_records(tansy, cosmo):
    problem = only_problem(
        bring("plants", f"label,name,keeper\nQS,Primula veris,{tansy.number}\n", cosmo)
    )
    assert problem.column == "keeper"
    assert "your own" in problem.message


def test_a_keeper_brings_in_members_and_addresses_stay_apart(ignatius):
    text = "number,name,email,country,address\n0900,Quentin Yarrowby,q@example.org,GB,2 Nowhere Row; Nettlemere\n"
    assert bring("members", text, ignatius).is_saved
    assert bring("members", text, ignatius).count("same") == 1
