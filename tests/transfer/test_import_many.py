"""Many rows: carried out at once they come to the same as one by one, and in few queries."""

import datetime
from dataclasses import replace

import pytest

from crosses.models import Plant
from seedbank.bank.models import Lot
from seedbank.sowings.models import Count, Replicate
from seedbank.transfer.kinds import KINDS
from tests.conftest import TODAY
from tests.factories.crosses import TaxonFactory
from tests.factories.sowings import make_sowing, packet_in_hand
from tests.transfer.conftest import bring

pytestmark = pytest.mark.django_db


def plants(many):
    rows = "".join(
        f"Z{i},Primula 'Zed {i}',{'Primula veris' if i % 2 else ''},2024-05-0{i % 9 + 1}\n"
        for i in range(many)
    )
    return f"label,name,taxon,acquired_on\n{rows}"


def lots(many):
    rows = "".join(f"G{i},Primula vulgaris,2025,{i + 1},4.5\n" for i in range(many))
    return f"key,name,year,seeds,storage_temperature_celsius\n{rows}"


def counts_of(sowing, days):
    rows = "".join(
        f"{sowing.number},{sowing.sown_on + datetime.timedelta(days=day)},1\n" for day in days
    )
    return f"sowing,date,number\n{rows}"


def one_by_one(kind, monkeypatch):
    monkeypatch.setitem(KINDS, kind, replace(KINDS[kind], many=None))


def facts(model):
    """Every field of every record that does not differ from run to run."""
    differ = {"id", "number", "client_key", "logged_at"}
    names = [field.attname for field in model._meta.fields if field.name not in differ]
    return list(model.objects.order_by("pk").values(*names))


@pytest.mark.parametrize(
    ("kind", "model", "text"), [("plants", Plant, plants(9)), ("lots", Lot, lots(9))]
)
def test_many_at_once_are_what_they_are_one_by_one(kind, model, text, tansy, monkeypatch):
    TaxonFactory()
    assert bring(kind, text, tansy).count("new") == 9
    at_once = facts(model)
    assert model.history.count() == 9
    assert model.history.first().history_user == tansy
    model.objects.all().delete()
    one_by_one(kind, monkeypatch)
    assert bring(kind, text, tansy).count("new") == 9
    assert facts(model) == at_once


def test_many_counts_at_once_add_up(tansy, monkeypatch):
    sowing = make_sowing(tansy)
    text = counts_of(sowing, range(1, 10))
    assert bring("counts", text, tansy).count("new") == 9
    assert Replicate.objects.get().germinated == 9
    assert Count.history.count() == 9
    assert bring("counts", text, tansy).count("same") == 9


def test_counts_that_are_more_than_was_sown_are_refused_where_they_become_too_many(tansy):
    sowing = make_sowing(tansy, packet_in_hand(tansy, seeds=5))
    report = bring("counts", counts_of(sowing, range(1, 9)), tansy)
    assert [problem.row_number for problem in report.problems] == [7, 8, 9]
    assert "more than the 5 seeds sown" in report.problems[0].message
    assert not Count.objects.exists()


@pytest.mark.parametrize(
    ("column", "value", "words"),
    [("acquired_on", "2999-01-01", "still to come"), ("ploidy", "99", "between 1 and 16")],
)
def test_one_wrong_row_among_many_is_told_at_its_cell(column, value, words, tansy):
    TaxonFactory()
    header, *rows = plants(6).splitlines()
    rows = [f"{row},2" for row in rows]
    cells = rows[3].split(",")
    cells[4 if column == "ploidy" else 3] = value
    rows[3] = ",".join(cells)
    (problem,) = bring("plants", "\n".join([header + ",ploidy", *rows]), tansy).problems
    assert problem.row_number == 5
    assert words in problem.message
    assert not Plant.objects.exists()


@pytest.mark.parametrize(("kind", "text"), [("plants", plants), ("lots", lots)])
def test_more_rows_cost_no_more_queries_but_for_their_inserts(
    kind, text, tansy, django_assert_max_num_queries
):
    """An insert holds 999 values on SQLite, so that 200 rows with their history take 14."""
    TaxonFactory()
    with django_assert_max_num_queries(24):
        assert bring(kind, text(20), tansy, is_trial=True).count("new") == 20
    with django_assert_max_num_queries(34):
        assert bring(kind, text(200), tansy, is_trial=True).count("new") == 200
    bring(kind, text(200), tansy)
    with django_assert_max_num_queries(24):
        assert bring(kind, text(200), tansy).count("same") == 200


def test_more_counts_cost_no_more_queries(tansy, django_assert_max_num_queries):
    sowing = make_sowing(tansy, sown_on=TODAY - datetime.timedelta(days=300))
    for days in (range(1, 10), range(1, 200)):
        with django_assert_max_num_queries(24):
            bring("counts", counts_of(sowing, [*days][:100]), tansy, is_trial=True)


def test_how_far_it_is_is_told_as_it_goes(tansy):
    told = []
    bring("plants", plants(1200), tansy, tell=lambda done, total: told.append((done, total)))
    assert told == [(500, 2400), (1000, 2400), (1700, 2400), (2200, 2400), (2400, 2400)]


def test_a_plant_divided_from_one_of_the_same_file_comes_in_with_it(tansy):
    text = "label,name,propagated_from\nA,Primula veris,\nB,Primula veris,A\n"
    assert bring("plants", text, tansy).is_saved
    assert Plant.objects.get(own_label="B").propagated_from.own_label == "A"


def test_nobody_brings_in_many_for_another(tansy, cosmo):
    report = bring("plants", "label,name,keeper\nA,Primula veris,0002\n", tansy)
    assert report.problems[0].column == "keeper"
    assert not Plant.objects.exists()
