"""A donor's list of seed as a table: looked at first, then all of it in one envelope."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from crosses.base.clock import now, today
from seedbank.bank.models import Donation, Lot
from seedbank.transfer.actions import undo_import
from seedbank.transfer.cells import Importing
from seedbank.transfer.importing import import_table
from seedbank.transfer.kinds import KINDS
from seedbank.transfer.models import Import

pytestmark = pytest.mark.django_db

OFFERS = (
    "what,harvest year,origin,how many,seeds a packet\n"
    "Primula 'Nettlemere Dusk',2025,garden,4,25\n"
    "Primula veris,2025,wild,2,20\n"
)


def bring(text, by):
    return import_table(
        KINDS["offers"],
        text.encode(),
        "offers.csv",
        Importing(by, now(), today()),
        is_trial=False,
    )


def test_every_row_is_a_line_of_one_envelope(cosmo):
    assert bring(OFFERS, cosmo).count("new") == 2
    donation = Donation.objects.get()
    assert [(line.lot.name_text, line.packets_offered) for line in donation.lines.all()] == [
        ("Primula 'Nettlemere Dusk'", 4),
        ("Primula veris", 2),
    ]


def test_the_same_table_twice_gives_nothing_twice(cosmo):
    bring(OFFERS, cosmo)
    assert bring(OFFERS, cosmo).count("same") == 2
    assert Lot.objects.count() == 2


@pytest.mark.parametrize(
    ("row", "column", "words"),
    [
        ("Primula a,2099,garden,1,10", "year", "still to come"),
        ("Primula a,2025,greenhouse,1,10", "origin", ""),
        ("Primula a,2025,garden,none,10", "packets", ""),
        (",2025,garden,1,10", "name", "it is needed"),
    ],
)
def test_a_wrong_cell_is_named_and_nothing_is_given(row, column, words, cosmo):
    report = bring(OFFERS + row + "\n", cosmo)
    (problem,) = report.problems
    assert problem.column == column
    assert words in problem.message
    assert not Donation.objects.exists()


def test_nobody_gives_in_anothers_name_but_the_keeper(cosmo, tansy, ignatius):
    text = "name,year,packets,seeds_each,donor\nPrimula a,2025,1,10,0002\n"
    assert bring(text, tansy).problems
    assert bring(text, ignatius).is_saved
    assert Donation.objects.get().donor == cosmo


def test_the_page_previews_before_it_saves(cosmo, signed_in):
    client = signed_in(cosmo)
    table = SimpleUploadedFile("offers.csv", OFFERS.encode())
    page = client.post("/import/offers/", {"table": table}, follow=True)
    assert "2 rows would come in" in page.content.decode()
    assert not Donation.objects.exists()
    client.post(reverse("import-confirm", args=[Import.objects.get().token]))
    assert Donation.objects.get().lines.count() == 2


def test_what_is_still_at_home_is_taken_out_of_the_envelope_again(cosmo, brought_in):
    brought = brought_in("offers", OFFERS, cosmo)
    undo_import(brought=brought, by=cosmo, at=now())
    assert Donation.objects.get().is_withdrawn
    assert not Lot.objects.filter(withdrawn_at=None).exists()
    assert bring(OFFERS, cosmo).count("new") == 2
