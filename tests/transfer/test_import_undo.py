"""For a day a file is taken back, all of it or nothing; what was built on stays, and is named."""

import datetime

import pytest

from crosses.base.clock import now
from crosses.base.refusal import Refused
from crosses.models import Cross, Harvest, Plant, Pollination, Taxon
from seedbank.bank.models import Lot, Packet, Place
from seedbank.members.models import Address, Member
from seedbank.sowings.models import Count, Replicate, Sowing
from seedbank.transfer.actions import undo_import
from seedbank.transfer.models import Import
from tests.factories.crosses import make_cross
from tests.transfer.conftest import bring

pytestmark = pytest.mark.django_db

TABLES = {
    "plants": "label,name\nQS,Primula 'Quillfeather Smoke'\nOL,Primula 'Oddwater Lemon'\n",
    "crosses": "own number,season,seed parent,pollen parent,aim\n01,2025,QS,OL,hardier\n",
    "pollinations": "tag,cross,date,flowers\nT1,01,2025-03-02,6\n",
    "checks": "pollination,date,seen\nT1,2025-04-02,swelling\n",
    "harvests": "key,pollination,capsules,date,seeds\nH1,T1,6,2025-07-01,190\n",
    "lots": "key,harvest,name,year,seeds\nG1,H1,,,\nG2,,Primula vulgaris,2025,80\n",
    "packets": "lot,packets,seeds_each,made_on\nG1,2,50,2025-09-01\n",
    "donations": "key,lot,packets\nD1,G1,1\n",
    "sowings": "key,lot,sown_on,seeds\nS1,G1,2025-10-01,50\n",
    "counts": "sowing,date,number\nS1,2025-11-01,4\n",
}


@pytest.fixture
def all_in(brought_in, tansy):
    files = [brought_in(kind, text, tansy) for kind, text in TABLES.items()]
    assert [brought.state for brought in files] == ["saved"] * len(files)
    return files


def standing():
    models = (Plant, Cross, Pollination, Harvest, Lot, Sowing, Count)
    return {model.__name__: model.objects.filter(withdrawn_at=None).count() for model in models}


def test_a_whole_society_is_taken_back_file_by_file_and_can_come_anew(all_in, tansy, brought_in):
    for brought in reversed(all_in):
        undo_import(brought=brought, by=tansy, at=now())
    assert set(standing().values()) == {0}
    assert set(Packet.objects.values_list("state", flat=True)) <= {"discarded", "sown"}
    # Sown seed does not come back into its packet, so those that were sown come no second time.
    for kind, text in list(TABLES.items())[:7]:
        again = brought_in(kind, text, tansy)
        assert again.state == "saved", again.report
        assert again.report["counts"]["same"] == 0


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("plants", "stands in a cross"),
        ("crosses", "Flowers were pollinated"),
        ("pollinations", "been looked at since"),
        ("harvests", "made a lot"),
        ("lots", "packets have been made of it"),
        ("packets", "has been moved or sown since"),
        ("sowings", "it has been counted since"),
    ],
)
def test_what_something_was_built_on_is_not_taken_back(kind, words, all_in, tansy):
    before = standing()
    brought = next(each for each in all_in if each.kind == kind)
    with pytest.raises(Refused, match=words):
        undo_import(brought=brought, by=tansy, at=now())
    assert standing() == before
    assert Import.objects.get(pk=brought.pk).state == Import.State.SAVED


def test_after_a_day_it_is_too_late(brought_in, tansy):
    brought = brought_in("plants", TABLES["plants"], tansy)
    with pytest.raises(Refused, match="for a day"):
        undo_import(brought=brought, by=tansy, at=now() + datetime.timedelta(hours=25))


def test_a_file_is_taken_back_once(brought_in, tansy):
    brought = brought_in("plants", TABLES["plants"], tansy)
    undo_import(brought=brought, by=tansy, at=now())
    with pytest.raises(Refused, match="nothing to take back"):
        undo_import(brought=brought, by=tansy, at=now())


def test_what_a_file_changed_says_again_what_it_said_before(brought_in, tansy):
    first = TABLES["plants"].replace("name\n", "name,form,acquired_on\n")
    first = first.replace("Smoke'\n", "Smoke',pin,2020-03-01\n").replace("Lemon'\n", "Lemon',,\n")
    bring("plants", first, tansy)
    brought = brought_in("plants", first.replace("pin,2020-03-01", "thrum,2021-04-02"), tansy)
    assert brought.report["counts"]["changed"] == 1
    undo_import(brought=brought, by=tansy, at=now())
    plant = Plant.objects.get(own_label="QS")
    assert (plant.style_form, plant.acquired_on) == ("pin", datetime.date(2020, 3, 1))
    assert plant.history.count() == 3


def test_what_was_changed_again_since_stays_as_it_is(brought_in, tansy):
    text = TABLES["plants"].replace("name\n", "name,form\n").replace("'\n", "',pin\n")
    bring("plants", text, tansy)
    brought = brought_in("plants", text.replace("pin", "thrum"), tansy)
    bring("plants", text.replace("pin", "homostyle"), tansy)
    with pytest.raises(Refused, match="has been changed since"):
        undo_import(brought=brought, by=tansy, at=now())


def test_a_corrected_count_is_put_back(brought_in, tansy, all_in):
    brought = brought_in("counts", TABLES["counts"].replace(",4", ",9"), tansy)
    assert Replicate.objects.get().germinated == 9
    undo_import(brought=brought, by=tansy, at=now())
    assert Replicate.objects.get().germinated == 4


def test_a_lot_that_was_corrected_is_put_back(brought_in, tansy):
    text = "key,name,year,seeds,storage_temperature_celsius,taxon\nG2,P. veris,2025,80,4,{}\n"
    Taxon.objects.create(genus="Primula", species="veris")
    bring("lots", text.format(""), tansy)
    brought = brought_in("lots", text.format("Primula veris").replace("80,4", "75,-18"), tansy)
    undo_import(brought=brought, by=tansy, at=now())
    lot = Lot.objects.get()
    assert (lot.seeds, lot.storage_temperature_celsius, lot.taxon) == (80, 4, None)


def test_members_of_a_wrong_file_leave_nothing_behind(brought_in, solveig):
    text = (
        "number,name,email,country,address,roles\n"
        "0900,Quentin Yarrowby,q@example.org,GB,2 Nowhere Row; Nettlemere,packer\n"
    )
    brought = brought_in("members", text, solveig)
    assert Address.objects.count() == 1
    undo_import(brought=brought, by=solveig, at=now())
    assert not Member.objects.filter(number="0900").exists()
    assert not Member.history.filter(number="0900").exists()
    assert not Address.objects.exists()


def test_a_member_who_keeps_plants_since_stays(brought_in, solveig):
    text = "number,name,email,country\n0900,Quentin Yarrowby,q@example.org,GB\n"
    brought = brought_in("members", text, solveig)
    make_cross(Member.objects.get(number="0900"))
    with pytest.raises(Refused, match="in use since"):
        undo_import(brought=brought, by=solveig, at=now())
    assert Member.history.filter(number="0900").exists()


def test_an_address_and_a_role_that_a_file_changed_are_put_back(brought_in, solveig, cosmo):
    text = (
        "number,name,email,country,address,roles\n"
        "0002,Cosmo Dribblethwaite,cosmo@example.org,GB,{},{}\n"
    )
    bring("members", text.format("1 Old Row; Nettlemere", ""), solveig)
    brought = brought_in("members", text.format("2 New Row; Nettlemere", "packer"), solveig)
    assert Member.objects.get(pk=cosmo.pk).is_packer
    undo_import(brought=brought, by=solveig, at=now())
    assert Address.objects.get().lines == "1 Old Row\nNettlemere"
    assert not Member.objects.get(pk=cosmo.pk).is_packer


def test_a_place_in_use_stays_and_one_out_of_use_goes(brought_in, ignatius):
    brought = brought_in("places", "code,walk_order\nZ-1,7\n", ignatius)
    undo_import(brought=brought, by=ignatius, at=now())
    assert not Place.objects.exists()
