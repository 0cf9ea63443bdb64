"""Passport data (MCPD V2.1): ours read elsewhere, and files made elsewhere read in."""

import csv
import datetime
import io

import openpyxl
import pytest
from django.urls import reverse

from crosses.models import Plant
from seedbank.bank.models import Lot
from seedbank.formats.mcpd import HEADER
from tests.api.conftest import lot_of_cross
from tests.factories.bank import LotFactory
from tests.factories.crosses import TaxonFactory, make_plant
from tests.transfer.conftest import bring

pytestmark = pytest.mark.django_db

ELSEWHERE = (
    "INSTCODE;ACCENUMB;GENUS;SPECIES;ACCENAME;ACQDATE;ORIGCTY;COLLSITE;COLLDATE;SAMPSTAT;STORAGE\r\n"
    'COL001;X 1;Primula;veris;"Symphony;Emma";2008----;FRA;a cliff;200803--;100;10\r\n'
    "COL001;X 2;Primula;veris;;20090501;;;;500;20\r\n"
)


def read_out(member, signed_in):
    """Fetch a member's passports and read them with the plain library."""
    data = signed_in(member).get(reverse("passports-csv")).content
    return list(csv.DictReader(io.StringIO(data.decode(), newline="")))


def test_a_plant_and_a_lot_go_out_as_passports(tansy, signed_in):
    taxon = TaxonFactory(authorship="L.", common_name="cowslip")
    plant = make_plant(
        tansy,
        "Primula veris",
        taxon=taxon,
        own_label="V1",
        origin="wild",
        wild_country="FR",
        wild_where="a cliff; north side",
        wild_on=datetime.date(2008, 3, 15),
    )
    lot_of_cross(tansy)
    rows = {row["ACCENUMB"]: row for row in read_out(tansy, signed_in)}
    told = rows[plant.number]
    assert list(told) == list(HEADER)
    assert (told["GENUS"], told["SPECIES"], told["SPAUTHOR"]) == ("Primula", "veris", "L.")
    assert (told["ORIGCTY"], told["SAMPSTAT"], told["COLLSRC"]) == ("FRA", "100", "10")
    assert (told["COLLDATE"], told["COLLSITE"]) == ("20080315", "a cliff, north side")
    assert (told["OTHERNUMB"], told["STORAGE"]) == (":V1", "20")
    lot = rows[Lot.objects.get().number]
    assert (lot["SAMPSTAT"], lot["STORAGE"]) == ("415", "10")
    assert lot["ANCEST"] == "Primula 'Quillfeather Smoke' × P. 'Oddwater Lemon'"


def test_a_lot_of_which_only_the_year_is_known_says_no_more(tansy, signed_in):
    LotFactory(raised_by=tansy, year=2019)
    (row,) = read_out(tansy, signed_in)
    assert row["ACQDATE"] == "2019----"


def test_the_workbook_says_the_same_as_the_table(tansy, signed_in):
    LotFactory(raised_by=tansy, year=2019)
    (row,) = read_out(tansy, signed_in)
    data = signed_in(tansy).get(reverse("passports-xlsx")).content
    header, cells = openpyxl.load_workbook(io.BytesIO(data)).active.iter_rows(values_only=True)
    assert {name: cell or "" for name, cell in zip(header, cells, strict=True)} == row


def test_a_members_passports_are_their_own_and_a_keepers_also_the_banks(
    tansy, cosmo, ignatius, signed_in
):
    tansy.donor_code = "Q001"
    tansy.save()
    LotFactory(raised_by=tansy, owner=None, name_text="Primula 'Bank Seed'")
    LotFactory(raised_by=cosmo)
    assert read_out(tansy, signed_in) == []
    (row,) = read_out(ignatius, signed_in)
    assert (row["ACCENAME"], row["DONORNAME"]) == ("Primula 'Bank Seed'", "Q001")


def test_a_file_made_elsewhere_comes_in_as_seed_and_as_plants(tansy):
    TaxonFactory()
    report = bring("passports", ELSEWHERE, tansy)
    assert report.is_saved, report.problems
    lot, plant = Lot.objects.get(), Plant.objects.get()
    assert (lot.name_text, lot.year, lot.origin, lot.wild_country) == (
        "Symphony",
        2008,
        "wild",
        "FR",
    )
    assert lot.taxon.species == "veris"
    assert "COLLDATE: 200803--" in lot.note
    assert "ACCENAME: Emma" in lot.note
    assert (plant.name_text, plant.own_label) == ("Primula veris", "X 2")
    assert plant.acquired_on == datetime.date(2009, 5, 1)
    assert bring("passports", ELSEWHERE, tansy).count("same") == 2


def test_each_wrong_field_of_a_passport_is_told_at_its_cell(tansy):
    text = ELSEWHERE.replace("FRA", "France").replace("200803--", "3/2008")
    report = bring("passports", text, tansy)
    assert [problem.column for problem in report.problems] == ["ORIGCTY", "COLLDATE"]
    assert not Lot.objects.exists()


def test_seed_without_a_year_is_refused(tansy):
    (problem,) = bring("passports", "ACCENUMB,GENUS\nX 3,Primula\n", tansy).problems
    assert problem.column == "ACQDATE"
    assert "needs a year" in problem.message


def test_what_goes_out_comes_in_elsewhere_as_it_was(tansy, cosmo, signed_in):
    TaxonFactory()
    plant = make_plant(tansy, "Primula 'Oddwater Lemon'", acquired_on=datetime.date(2020, 5, 1))
    data = signed_in(tansy).get(reverse("passports-csv")).content
    assert bring("passports", data, cosmo).is_saved
    there = Plant.objects.get(keeper=cosmo)
    assert (there.name_text, there.acquired_on) == (plant.name_text, plant.acquired_on)
    assert there.own_label == plant.number
