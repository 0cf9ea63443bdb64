"""The pages on which a table is looked at, matched, brought in and taken back."""

import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from openpyxl import Workbook

from crosses.models import Plant
from seedbank.jobs.running import run_waiting_jobs
from seedbank.transfer.actions import MOST_BYTES_AT_ONCE, file_of
from seedbank.transfer.kinds import KINDS
from seedbank.transfer.models import Import

pytestmark = pytest.mark.django_db

PLANTS = "label,name,form\nQS,Primula 'Quillfeather Smoke',thrum\nOL,Primula 'Oddwater Lemon',pin\n"


@pytest.fixture
def upload(signed_in):
    """Return a function that sends a file and gives the browser and the page it leads to."""

    def send(member, kind, data, name="plants.csv"):
        client = signed_in(member)
        file = SimpleUploadedFile(name, data if isinstance(data, bytes) else data.encode())
        return client, client.post(f"/import/{kind}/", {"table": file}, follow=True)

    return send


def press(client, act, **fields):
    """Press a button of the page of the latest file."""
    address = reverse(f"import-{act}", args=[Import.objects.first().token])
    return client.post(address, fields, follow=True)


def test_a_file_is_looked_at_first_and_saved_on_the_second_button(upload, tansy):
    client, page = upload(tansy, "plants", PLANTS)
    assert b"2 rows would come in" in page.content
    assert not Plant.objects.exists()
    done = press(client, "confirm")
    assert b"2 rows are in" in done.content
    assert Plant.objects.count() == 2


def test_a_file_that_is_in_is_not_kept_on_the_disk(upload, tansy):
    client, _page = upload(tansy, "plants", PLANTS)
    path = file_of(Import.objects.get())
    assert path.exists()
    press(client, "confirm")
    assert not path.exists()


def test_a_second_tap_brings_nothing_in_twice(upload, tansy):
    client, _page = upload(tansy, "plants", PLANTS)
    press(client, "confirm")
    again = press(client, "confirm")
    assert b"no longer here" in again.content
    assert Plant.objects.count() == 2


def test_what_is_wrong_stands_in_the_cell_where_it_was_typed(upload, tansy):
    client, page = upload(tansy, "plants", PLANTS.replace("thrum", "thrumm"))
    text = page.content.decode()
    assert '<td class="is-wrong">thrumm <span class="cell-wrong">' in text
    assert "Bring them in" not in text
    done = press(client, "confirm")
    assert b"Nothing was saved" in done.content
    assert not Plant.objects.exists()


def test_a_file_that_is_no_table_is_told(upload, tansy):
    _client, page = upload(tansy, "plants", b"\x00\x01\x02", "plants.xlsx")
    assert b"is not a text file" in page.content
    assert not Plant.objects.exists()


def test_a_workbook_comes_in_too(upload, tansy):
    book = Workbook()
    for row in (["label", "name"], ["QS", "Primula 'Quillfeather Smoke'"]):
        book.active.append(row)
    data = io.BytesIO()
    book.save(data)
    client, _page = upload(tansy, "plants", data.getvalue(), "plants.xlsx")
    press(client, "confirm")
    assert Plant.objects.get().own_label == "QS"


def test_a_heading_of_ones_own_is_matched_once_and_known_the_next_time(upload, tansy):
    text = PLANTS.replace("label,name", "Etikett,Bezeichnung")
    client, page = upload(tansy, "plants", text)
    assert b"The file has no column &#x27;label&#x27;" in page.content
    page = press(client, "match", label="Etikett", name="Bezeichnung", style_form="form")
    assert b"2 rows would come in" in page.content
    press(client, "confirm")
    assert set(Plant.objects.values_list("own_label", flat=True)) == {"QS", "OL"}
    _client, page = upload(tansy, "plants", text.replace("QS", "QT"))
    assert b"1 rows would come in, 1 are here already" in page.content


def test_the_match_of_one_member_is_not_anothers(upload, tansy, cosmo):
    text = PLANTS.replace("label", "Etikett")
    client, _page = upload(tansy, "plants", text)
    press(client, "match", label="Etikett", name="name")
    _client, page = upload(cosmo, "plants", text)
    assert b"The file has no column &#x27;label&#x27;" in page.content


def test_a_file_is_taken_back_by_its_button(upload, tansy):
    client, _page = upload(tansy, "plants", PLANTS)
    press(client, "confirm")
    page = press(client, "undo")
    assert b"was taken back" in page.content
    assert not Plant.objects.filter(withdrawn_at=None).exists()


@pytest.mark.parametrize("kind", KINDS)
def test_an_empty_table_to_fill_is_read_as_one_without_rows(kind, upload, solveig, ignatius):
    who = solveig if kind == "members" else ignatius
    client, _page = upload(who, kind, b"x")
    empty = client.get(reverse("import-template", args=[kind])).content
    _client, page = upload(who, kind, empty, f"{kind}.csv")
    assert b"a heading and no rows" in page.content


def test_every_column_is_explained_on_its_page(ignatius, signed_in):
    client = signed_in(ignatius)
    for kind in KINDS.values():
        assert all(column.help for column in kind.columns), kind.name
    page = client.get("/import/sowings/").content.decode()
    assert "cold 28 d 4 C" in page
    assert "a date, such as 2026-05-31" in page


def test_a_large_file_is_worked_on_in_the_background(upload, tansy, monkeypatch):
    monkeypatch.setattr("seedbank.jobs.actions.call_worker", lambda at: None)
    monkeypatch.setattr("seedbank.jobs.starting.call_worker", lambda at: None)
    rows = "".join(f"Z{i:05},Primula 'Zed {i}',pin\n" for i in range(1500))
    text = "label,name,form\n" + rows
    assert len(text) > MOST_BYTES_AT_ONCE
    client, page = upload(tansy, "plants", text)
    assert b"being looked at" in page.content
    run_waiting_jobs()
    address = reverse("import-look", args=[Import.objects.get().token])
    assert b"1500 rows would come in" in client.get(address).content
    page = press(client, "confirm")
    assert b"being brought in" in page.content
    assert not Plant.objects.exists()
    run_waiting_jobs()
    assert b"1500 rows are in" in client.get(address).content
    assert Plant.objects.count() == 1500


def test_a_file_of_a_gigabyte_is_refused_before_it_is_read(tansy):
    """Only what the sender says of its length is there; whoever reads on would wait for the rest."""
    client = Client(enforce_csrf_checks=True)
    client.force_login(tansy)
    answer = client.post(
        "/import/plants/",
        b"--x\r\n",
        content_type="multipart/form-data; boundary=x",
        CONTENT_LENGTH=str(1_000_000_000),
    )
    assert answer.status_code == 413
    assert b"larger than 30 MB" in answer.content


def test_a_forged_form_is_still_refused(tansy):
    client = Client(enforce_csrf_checks=True)
    client.force_login(tansy)
    file = SimpleUploadedFile("plants.csv", PLANTS.encode())
    assert client.post("/import/plants/", {"table": file}).status_code == 403
    assert not Import.objects.exists()


def test_the_societys_tables_are_a_keepers(upload, tansy, ignatius, signed_in):
    _client, page = upload(tansy, "taxa", "genus\nPrimula\n")
    assert page.status_code == 403
    assert b"import/taxa" not in signed_in(tansy).get("/import/").content.split(b"<main")[1]
    assert b"import/taxa" in signed_in(ignatius).get("/import/").content.split(b"<main")[1]


def test_roles_and_mail_addresses_are_an_administrators(upload, ignatius, signed_in):
    _client, page = upload(ignatius, "members", "number\n1\n")
    assert page.status_code == 403
    ignatius.is_staff = True
    ignatius.save()
    assert b"import/members" in signed_in(ignatius).get("/import/").content.split(b"<main")[1]


def test_nobody_sees_or_confirms_anothers_file(upload, tansy, cosmo, signed_in):
    upload(tansy, "plants", PLANTS)
    stranger = signed_in(cosmo)
    assert press(stranger, "confirm").status_code == 404
    assert press(stranger, "undo").status_code == 404
    address = reverse("import-look", args=[Import.objects.get().token])
    assert stranger.get(address).status_code == 404
    assert not Plant.objects.exists()
