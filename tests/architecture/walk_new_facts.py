"""What `test_add_a_field` runs in a tree where each record has one fact more: humidity_percent.

Each walk types the fact on the record's page and finds it on the page that tells of the record, in
the API, after a correction, in the history, and after an import.
"""

from typing import Any

import pytest
from django.urls import reverse

from crosses.models import Check, Cross, Harvest, Plant, Pollination
from seedbank.bank.models import Donation, Lot, Packet, Place
from seedbank.exchange.models import ListLine
from seedbank.sowings.models import Count, Sowing
from seedbank.transfer.archive.tables import columns_of
from tests.api.conftest import in_true_numbers, with_key  # noqa: F401  a fixture
from tests.conftest import NOON
from tests.factories.bank import LotFactory
from tests.factories.crosses import make_cross, make_plant, make_pollination
from tests.factories.exchange import listed_round
from tests.factories.sowings import make_sowing, packet_in_hand
from tests.transfer.conftest import bring

pytestmark = pytest.mark.django_db
FACT = "humidity_percent"
API = "/api/v1/"


@pytest.fixture(autouse=True)
def at_noon(time_machine):
    time_machine.move_to(NOON, tick=False)


@pytest.fixture
def desk(tansy, signed_in):
    return signed_in(tansy)


@pytest.fixture
def script(tansy, with_key):  # noqa: F811
    return with_key(tansy, scope="log")


def fill_in(client: Any, address: str, **typed: Any) -> None:
    """Type into a page as a browser sends it: with all that stands in its inputs already."""
    form = client.get(address).context["form"]
    stands = {bound.html_name: bound.value() for bound in form}
    sent = {
        name: value
        for name, value in stands.items()
        if value is not False and value not in (None, "")
    }
    assert f'name="{FACT}"' in client.get(address).text
    answer = client.post(address, sent | typed)
    assert answer.status_code == 302, answer.context["form"].errors


def send(script: Any, address: str, sent: Any) -> Any:
    answer = script.post(address, sent)
    assert answer.status_code == 201, answer.content
    return answer.json()


def said(model: Any) -> Any:
    return getattr(model.objects.latest("pk"), FACT)


def is_on(client: Any, address: str, value: int) -> None:
    assert f"humidity {value}" in client.get(address).text


def versions(record: Any) -> list[Any]:
    return list(record.history.order_by("history_date", "history_id").values_list(FACT, flat=True))


def test_plant(desk, script, tansy):
    fill_in(desk, reverse("plant-add"), name_text="Primula x", humidity_percent="55")
    plant = Plant.objects.get()
    is_on(desk, reverse("plant-detail", args=[plant.number]), 55)
    fill_in(desk, reverse("plant-change", args=[plant.number]), humidity_percent="60")
    is_on(desk, reverse("plant-detail", args=[plant.number]), 60)
    assert script.get(f"{API}plants/{plant.number}/").json()[FACT] == 60
    assert versions(plant) == [55, 60]
    told = send(script, f"{API}plants/", {"name": "Primula y", FACT: 65})
    assert (told[FACT], said(Plant)) == (65, 65)
    bring("plants", f"label,name,{FACT}\nA,Primula z,70\n", tansy)
    assert said(Plant) == 70
    bring("plants", f"label,name,{FACT}\nA,Primula z,75\n", tansy)
    assert said(Plant) == 75


def test_cross(desk, script, tansy):
    typed = {"seed_parent": make_plant(tansy).number, "pollen": "open"}
    fill_in(desk, reverse("cross-add"), **typed, humidity_percent="55")
    cross = Cross.objects.get()
    is_on(desk, reverse("cross-detail", args=[cross.number]), 55)
    fill_in(desk, reverse("cross-change", args=[cross.number]), humidity_percent="60")
    assert script.get(f"{API}crosses/{cross.number}/").json()[FACT] == 60
    assert versions(cross) == [55, 60]
    parent = cross.seed_parent.number
    sent = {"season": 2026, "seed_parent": parent, "pollen": "self", FACT: 65}
    assert send(script, f"{API}crosses/", sent)[FACT] == 65
    head = f"own_number,season,seed_parent,pollen,{FACT}"
    bring("crosses", f"{head}\n77,2026,{parent},open,70\n", tansy)
    assert said(Cross) == 70


def test_pollination(desk, script, tansy):
    cross = make_cross(tansy)
    typed = {"cross": cross.number, "humidity_percent": "55"}
    fill_in(desk, reverse("pollination-add"), **typed)
    flower = Pollination.objects.get()
    is_on(desk, reverse("pollination-detail", args=[flower.number]), 55)
    fill_in(desk, reverse("pollination-change", args=[flower.number]), humidity_percent="60")
    assert script.get(f"{API}pollinations/{flower.number}/").json()[FACT] == 60
    assert versions(flower) == [55, 60]
    sent = {"cross": cross.number, "pollinated_on": "2026-05-01", FACT: 65}
    assert send(script, f"{API}pollinations/", sent)[FACT] == 65
    head = f"key,cross,season,pollinated_on,{FACT}"
    bring("pollinations", f"{head}\nA,{cross.own_number},2026,2026-05-02,70\n", tansy)
    assert said(Pollination) == 70


def test_check(desk, script, tansy):
    flower = make_pollination(tansy)
    typed = {"kind": "swelling", "humidity_percent": "55"}
    fill_in(desk, reverse("check-add", args=[flower.number]), **typed)
    is_on(desk, reverse("pollination-detail", args=[flower.number]), 55)
    checks = f"{API}pollinations/{flower.number}/checks/"
    sent = {"seen_on": "2026-05-19", "kind": "swelling", FACT: 65}
    assert {each[FACT] for each in send(script, checks, sent)["checks"]} == {55, 65}
    assert versions(Check.objects.earliest("pk")) == [55]
    head = f"pollination,seen_on,kind,{FACT}"
    bring("checks", f"{head}\n{flower.number},2026-05-18,swelling,70\n", tansy)
    assert said(Check) == 70


def test_harvest(desk, script, tansy):
    flower = make_pollination(tansy, flowers=3)
    typed = {f"capsules_{flower.number}": "1", "seed_counting": "counted", "seeds": "40"}
    typed[FACT] = "55"
    fill_in(desk, reverse("harvest-add", args=[flower.cross.number]), **typed)
    harvest = Harvest.objects.get()
    is_on(desk, reverse("harvest-detail", args=[harvest.number]), 55)
    count = reverse("harvest-count", args=[harvest.number])
    fill_in(desk, count, seeds="41")
    assert said(Harvest) == 55
    fill_in(desk, count, seeds="41", humidity_percent="60")
    assert script.get(f"{API}harvests/{harvest.number}/").json()[FACT] == 60
    assert versions(harvest) == [55, 55, 60]
    head = f"key,pollination,capsules,harvested_on,seeds,{FACT}"
    bring("harvests", f"{head}\nA,{flower.number},1,2026-05-19,9,70\n", tansy)
    assert said(Harvest) == 70


def test_lot(desk, script, tansy):
    typed = {"name_text": "Primula veris", "year": "2025", "humidity_percent": "55"}
    fill_in(desk, reverse("lot-add"), **typed)
    lot = Lot.objects.get()
    is_on(desk, reverse("lot-detail", args=[lot.number]), 55)
    fill_in(desk, reverse("lot-change", args=[lot.number]), why="a slip", humidity_percent="60")
    assert script.get(f"{API}lots/{lot.number}/").json()[FACT] == 60
    assert versions(lot) == [55, 60]
    sent = {"name": "Primula x", "year": 2025, "origin": "garden", FACT: 65}
    assert send(script, f"{API}lots/", sent)[FACT] == 65
    bring("lots", f"key,name,year,{FACT}\nA,Primula z,2025,70\n", tansy)
    assert said(Lot) == 70
    bring("lots", f"key,name,year,{FACT}\nA,Primula z,2025,75\n", tansy)
    assert said(Lot) == 75


def test_packet(desk, script, tansy):
    lot = LotFactory(raised_by=tansy, owner=tansy)
    typed = {"how_many": "1", "seeds_each": "20", "humidity_percent": "55"}
    fill_in(desk, reverse("packets-add", args=[lot.number]), **typed)
    packet = Packet.objects.get()
    is_on(desk, reverse("packet-detail", args=[packet.number]), 55)
    told = script.get(f"{API}packets/{packet.number}/").json()["packet"]
    assert told[FACT] == 55
    bring("packets", f"lot,packets,seeds_each,{FACT}\n{lot.number},1,10,70\n", tansy)
    assert said(Packet) == 70


def test_sowing(desk, script, tansy):
    packet = packet_in_hand(tansy)
    steps = {"step-TOTAL_FORMS": "0", "step-INITIAL_FORMS": "0"}
    typed = {"packet": packet.number, "seeds_sown": "10", "humidity_percent": "55"}
    fill_in(desk, reverse("sowing-add"), **steps, **typed)
    sowing = Sowing.objects.get()
    is_on(desk, reverse("sowing-detail", args=[sowing.number]), 55)
    assert script.get(f"{API}sowings/{sowing.number}/").json()[FACT] == 55
    assert versions(sowing) == [55]
    sent = {"packet": packet.number, "sown_on": "2026-05-01", "seeds_sown": 5, FACT: 65}
    assert send(script, f"{API}sowings/", sent)[FACT] == 65
    bring(
        "sowings",
        f"key,packet,sown_on,seeds_sown,{FACT}\nA,{packet.number},2026-05-01,5,70\n",
        tansy,
    )
    assert said(Sowing) == 70


def test_count(desk, script, tansy):
    sowing = make_sowing(tansy)
    typed = {"number": "1", "humidity_percent": "55"}
    fill_in(desk, reverse("count-add", args=[sowing.number]), **typed)
    is_on(desk, reverse("sowing-detail", args=[sowing.number]), 55)
    sent = {"counted_on": "2026-05-10", "number": 1, "typed_as": "new", FACT: 65}
    assert send(script, f"{API}sowings/{sowing.number}/counts/", sent)[FACT] == 65
    assert versions(Count.objects.earliest("pk")) == [55]
    head = f"sowing,counted_on,number,{FACT}"
    bring("counts", f"{head}\n{sowing.number},2026-05-12,1,70\n", tansy)
    assert said(Count) == 70
    bring("counts", f"{head}\n{sowing.number},2026-05-12,1,75\n", tansy)
    assert said(Count) == 75


def test_donation(desk, script, tansy):
    packet = packet_in_hand(tansy)
    lot = packet.lot.number
    fill_in(desk, reverse("donation-offer"), **{f"packets_{lot}": "1", FACT: "55"})
    donation = Donation.objects.get()
    is_on(desk, reverse("donation-detail", args=[donation.number]), 55)
    assert script.get(f"{API}donations/{donation.number}/").json()[FACT] == 55
    assert versions(donation) == [55]
    other = in_true_numbers(packet_in_hand(tansy).lot).number
    sent = {"lines": [{"lot": other, "packets": 1}], FACT: 65}
    assert send(script, f"{API}donations/", sent)[FACT] == 65
    another = packet_in_hand(tansy).lot.number
    bring("donations", f"key,lot,packets,{FACT}\nA,{another},1,70\n", tansy)
    assert said(Donation) == 70


def test_line(signed_in, ignatius, with_key):  # noqa: F811
    found = listed_round(ignatius)
    desk = signed_in(ignatius)
    address = reverse("line-change", args=[found.slug, 1])
    fill_in(desk, address, humidity_percent="55")
    assert said(ListLine) == 55
    assert desk.get(address).context["form"][FACT].value() == 55
    script = with_key(ignatius, scope="keep")
    line = f"{API}rounds/{found.slug}/lines/1/"
    version = script.get(line)["ETag"]
    told = script.patch(line, {FACT: 60}, headers={"If-Match": version}).json()
    assert told[FACT] == 60
    assert versions(ListLine.objects.get())[-2:] == [55, 60]


def test_place(signed_in, ignatius):
    desk = signed_in(ignatius)
    fill_in(desk, reverse("place-list"), code="A-01", humidity_percent="55")
    place = Place.objects.get()
    fill_in(desk, reverse("place-change", args=[place.pk]), humidity_percent="60")
    assert said(Place) == 60
    bring("places", f"code,{FACT}\nA-02,70\n", ignatius)
    assert said(Place) == 70


@pytest.mark.parametrize(
    "model",
    [Plant, Cross, Pollination, Check, Harvest, Lot, Packet, Sowing, Count, Donation, Place],
)
def test_it_is_in_the_archives(model):
    assert FACT in {column.name for column in columns_of(model)}


def test_a_percentage_of_140_is_refused_at_its_field_in_the_words_of_the_rule(desk):
    typed = {"name_text": "Primula x", "origin": "unknown", "visibility": "society"}
    answer = desk.post(reverse("plant-add"), typed | {FACT: "140"})
    assert answer.context["form"].errors[FACT] == ["Humidity is between 0 and 100 percent."]
