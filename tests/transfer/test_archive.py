"""Everything out as tables, and the whole of a society in again, to an equal database."""

import csv
import io
import json
import zipfile

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import connection
from django.urls import reverse

from crosses.base.clock import now
from crosses.base.history import save_with_history
from crosses.base.refusal import Refused
from crosses.calc.errors import BadInput
from crosses.models import Plant
from seedbank.jobs.running import run_waiting_jobs
from seedbank.members.actions.member import save_address
from seedbank.members.models import Address, Member
from seedbank.transfer.archive.export import export_own, export_society
from seedbank.transfer.archive.restore import restore_society
from seedbank.transfer.archive.tables import (
    NOT_THE_SOCIETYS,
    models_of_the_society,
    own_models,
    record_name,
)
from tests.api.conftest import lot_of_cross
from tests.conftest import NOON
from tests.factories.bank import packets_of
from tests.factories.crosses import TaxonFactory, make_plant
from tests.factories.exchange import listed_round, stored_lot
from tests.factories.sowings import counted_sowing

pytestmark = pytest.mark.django_db

ODD = ["=1+1", "'=1+1", "'", "-5", "+44 20", "@x", 'two\r\nlines; and "quotes", and a comma', "\tx"]


@pytest.fixture
def society(tansy, cosmo, hettie, ignatius, solveig):
    """A society with records of most kinds, and texts that tables like to spoil."""
    lot = lot_of_cross(tansy)
    packets_of(lot, 3)
    counted_sowing(cosmo, 78, 120)
    for text in ODD:
        make_plant(tansy, f"Primula {text}", own_label=text[:30], fertility_notes=text)
    save_address(member=tansy, by=tansy, lines="1 Primrose Row\nNettlemere", country="GB")
    save_address(member=cosmo, by=cosmo, lines="2 Hidden Row\nNettlemere", country="GB")
    listed_round(ignatius, stored_lot(), stored_lot())
    return tansy


def tables(path):
    with zipfile.ZipFile(path) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def rows(data):
    return list(csv.DictReader(io.StringIO(data.decode("utf-8"), newline="")))


def empty_the_database():
    """Make the database as a new one is, with what its migrations put in."""
    call_command("flush", interactive=False, verbosity=0)


def test_every_record_is_in_the_archive_or_said_to_be_left_out():
    from django.apps import apps

    from seedbank.transfer.archive.tables import APPS

    known = {model._meta.label for model in models_of_the_society()} | NOT_THE_SOCIETYS
    there = {model._meta.label for app in APPS for model in apps.get_app_config(app).get_models()}
    assert there == known


@pytest.mark.django_db(transaction=True)
def test_a_society_comes_back_equal(society, tmp_path):
    first, second = tmp_path / "first.zip", tmp_path / "second.zip"
    export_society(first, at=NOON)
    empty_the_database()
    # A new service begins with some rules and taxa of its own.
    save_with_history(TaxonFactory.build(), by=None)
    restore_society(first, say=lambda line: None)
    export_society(second, at=NOON)
    assert tables(first) == tables(second)
    notes = set(Plant.objects.exclude(fertility_notes="").values_list("fertility_notes", flat=True))
    assert notes == set(ODD)
    member = Member.objects.get(number="0003")
    assert member.is_keeper
    assert not member.has_usable_password()
    # New records count on from those that came in.
    plant = make_plant(Member.objects.get(number="0001"))
    assert plant.pk == max(Plant.objects.values_list("pk", flat=True))
    connection.check_constraints()


def test_the_manifest_says_what_is_in_which_file(society, tmp_path):
    path = tmp_path / "society.zip"
    export_society(path, at=NOON)
    files = tables(path)
    manifest = json.loads(files["manifest.json"])
    assert {entry["file"] for entry in manifest["tables"]} == files.keys() - {"manifest.json"}
    plants = next(each for each in manifest["tables"] if each["record"] == "crosses-plant")
    assert plants["rows"] == Plant.objects.count() == len(rows(files["crosses-plant.csv"]))
    refers = {column["name"]: column.get("refers_to") for column in plants["columns"]}
    assert refers["raised_from"] == "crosses-cross.number"


def test_no_password_and_no_key_is_in_the_archive(society, tmp_path):
    path = tmp_path / "society.zip"
    export_society(path, at=NOON)
    digest = society.password
    assert digest
    assert all(digest.encode() not in data for data in tables(path).values())
    assert "members-apitoken.csv" not in tables(path)


def test_an_archive_needs_an_empty_database(society, tmp_path):
    path = tmp_path / "society.zip"
    export_society(path, at=NOON)
    with pytest.raises(Refused, match="holds a society already"):
        restore_society(path, say=lambda line: None)


def damaged(path, change):
    """Write an archive anew with something changed in it."""
    files = tables(path)
    change(files)
    with zipfile.ZipFile(path, "w") as archive:
        for name, data in files.items():
            archive.writestr(name, data)


def other_release(files):
    manifest = json.loads(files["manifest.json"])
    manifest["migrations"]["crosses"] = "0001_records"
    files["manifest.json"] = json.dumps(manifest).encode()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda files: files.update({"crosses-plant.csv": b"id\r\n"}), "not as it was written"),
        (lambda files: files.pop("bank-lot.csv"), "missing or damaged"),
        (lambda files: files.pop("manifest.json"), "not an archive"),
        (other_release, "another release"),
    ],
)
def test_an_archive_that_is_not_whole_brings_nothing_in(change, words, tansy, tmp_path):
    path = tmp_path / "society.zip"
    export_society(path, at=NOON)
    damaged(path, change)
    Member.objects.all().delete()
    with pytest.raises(BadInput, match=words):
        restore_society(path, say=lambda line: None)
    assert not Member.objects.exists()


def test_what_is_no_archive_is_told_by_the_command(tmp_path):
    path = tmp_path / "x.zip"
    path.write_bytes(b"PK")
    with pytest.raises(CommandError, match="not an archive"):
        call_command("restore_society", path)


def test_ones_own_archive_holds_ones_own_and_no_other_member(society, cosmo, tmp_path):
    make_plant(cosmo, "Primula 'Strangers Own'")
    path = tmp_path / "mine.zip"
    export_own(path, member=society, at=NOON)
    files = tables(path)
    whole = b"".join(files.values())
    assert b"1 Primrose Row" in whole
    assert b"Hidden Row" not in whole
    assert b"Strangers Own" not in whole
    assert cosmo.email.encode() not in whole
    plants = rows(files["crosses-plant.csv"])
    assert {plant["keeper"] for plant in plants} == {society.number}
    assert len(plants) == society.plants.count()
    for name, data in files.items():
        if name.endswith(".csv"):
            assert all(value != "0002" for row in rows(data) for value in row.values()), name


def test_who_got_ones_seed_is_not_told(tansy, cosmo, tmp_path):
    (packet,) = packets_of(lot_of_cross(tansy), 1)
    type(packet).objects.filter(pk=packet.pk).update(holder=cosmo, state="sent")
    path = tmp_path / "mine.zip"
    export_own(path, member=tansy, at=NOON)
    (row,) = rows(tables(path)["bank-packet.csv"])
    assert row["holder"] == ""


def test_every_table_of_ones_own_is_there_also_for_who_owns_nothing(wilhelmina, tmp_path):
    path = tmp_path / "mine.zip"
    export_own(path, member=wilhelmina, at=NOON)
    assert {f"{record_name(model)}.csv" for model in own_models()} <= tables(path).keys()


def test_a_member_fetches_what_is_theirs(society, signed_in):
    client = signed_in(society)
    page = client.get(reverse("export"))
    assert b"The whole society" not in page.content
    answer = client.get(reverse("export-mine"))
    assert answer["Cache-Control"] == "private, no-store"
    data = b"".join(answer.streaming_content)
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert rows(archive.read("members-address.csv"))[0]["lines"].startswith("1 Primrose")


def test_the_whole_society_is_the_administrators_alone(
    society, ignatius, solveig, signed_in, monkeypatch
):
    monkeypatch.setattr("seedbank.jobs.actions.call_worker", lambda at: None)
    assert signed_in(ignatius).post(reverse("export-society")).status_code == 403
    client = signed_in(solveig)
    assert b"The whole society" in client.get(reverse("export")).content
    client.post(reverse("export-society"))
    run_waiting_jobs()
    job = solveig.jobs.get()
    assert (job.state, job.done) == ("finished", job.total)
    assert "It holds addresses" in job.message
    data = b"".join(client.get(reverse("job-file", args=[job.pk])).streaming_content)
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert len(rows(archive.read("members-address.csv"))) == Address.objects.count() == 2


def test_an_address_goes_out_of_an_administrators_hands_with_the_role(
    society, solveig, signed_in, monkeypatch
):
    monkeypatch.setattr("seedbank.jobs.actions.call_worker", lambda at: None)
    client = signed_in(solveig)
    client.post(reverse("export-society"))
    run_waiting_jobs()
    Member.objects.filter(pk=solveig.pk).update(is_superuser=False)
    assert client.get(reverse("job-file", args=[solveig.jobs.get().pk])).status_code == 403


def test_now_is_when_it_was_made(tansy, tmp_path):
    path = tmp_path / "mine.zip"
    at = now()
    export_own(path, member=tansy, at=at)
    assert json.loads(tables(path)["manifest.json"])["made_at"] == at.isoformat()
