"""A round of the exchange, brought through its year by the pages, each stage by whoever does it."""

import datetime
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from zoneinfo import ZoneInfo

import pytest

from seedbank.members.models import Member
from tests.journeys.people import Visitor

HERE = ZoneInfo("Europe/London")
SPRING = datetime.datetime(2026, 4, 1, 10, tzinfo=HERE)
PREPARING = datetime.datetime(2026, 9, 1, 10, tzinfo=HERE)
LIST_OPENS = datetime.datetime(2026, 10, 20, 9, tzinfo=HERE)
WISHING = datetime.datetime(2026, 11, 1, 10, tzinfo=HERE)
WISHES_CLOSE = datetime.datetime(2026, 11, 20, 20, tzinfo=HERE)
SHARING = datetime.datetime(2026, 11, 21, 10, tzinfo=HERE)
DRAWN = datetime.datetime(2026, 12, 6, 10, tzinfo=HERE)
PACKING = datetime.datetime(2026, 12, 8, 10, tzinfo=HERE)

AT = "/rounds/seed-2026"
PUBLIC_VALUE = "4 8 15 16 23 42"
BARRED_WORDS = "No Primula elatior without an import permit."

# Seed and packets of each; the list numbers them A-Z, so these are lines 1, 2 and 3.
AURICULA, DENTICULATA, ELATIOR = "Primula auricula", "Primula denticulata", "Primula elatior"
STOCK = {ELATIOR: 3, AURICULA: 7, DENTICULATA: 2}
SEEDS_EACH = 25
SEEDS_CAME = 18

# Most wanted first; Rollo may not ask for line 3, Cosmo gave and may have one packet more.
WISHES = {
    "tansy": ("2, 1", "3"),
    "cosmo": ("2, 1, 3", ""),
    "wilhelmina": ("2, 1", ""),
    "rollo": ("2, 1", ""),
}


@dataclass
class Year:
    """The society and its clock."""

    people: dict[str, Member]
    move_clock: Callable[[datetime.datetime], None]
    lots: dict[str, str] = field(default_factory=dict)

    def go(self, moment: datetime.datetime) -> None:
        self.move_clock(moment)

    def visit(self, name: str) -> Visitor:
        """Sign a person in, with a browser of their own; a sign-in of last month has run out."""
        return Visitor(self.people[name])


def numbers_on(page: str, kind: str) -> list[str]:
    """The numbers of packets (S), lots (L) or parcels (R) on a page, in order, each once."""
    return list(dict.fromkeys(re.findall(rf"\b{kind}\d{{6}}-\d\d\b", page)))


@pytest.fixture
def year(time_machine, tansy, cosmo, ignatius, hettie, rollo, wilhelmina) -> Year:
    people = {
        "tansy": tansy,
        "cosmo": cosmo,
        "ignatius": ignatius,
        "hettie": hettie,
        "rollo": rollo,
        "wilhelmina": wilhelmina,
    }
    year = Year(people, lambda moment: time_machine.move_to(moment, tick=False))
    year.go(SPRING)
    for number, name in enumerate(WISHES, start=1):
        country = people[name].country
        year.visit(name).fill("/you/address/", lines=f"{number} Nowhere Row", country=country)
    return year


@pytest.fixture
def stocked(year) -> Year:
    """Cosmo's seed is in the store, and one packet of it was sown to test it."""
    keeper = year.visit("ignatius")
    keeper.fill("/places/", code="A-01", is_bank="on")
    for name, packets in STOCK.items():
        page = keeper.fill(
            "/donations/by-hand/",
            donor=year.people["cosmo"].number,
            name_text=name,
            year=2025,
            packets=packets,
            seeds_each=SEEDS_EACH,
            place="A-01",
        )
        year.lots[name] = numbers_on(page, "L")[0]
    packet = numbers_on(keeper.see(f"/lots/{year.lots[AURICULA]}/"), "S")[0]
    keeper.fill(
        f"/sowings/add/?packet={packet}", packet=packet, seeds_sown=SEEDS_EACH, purpose="test"
    )
    sowing = keeper.number
    year.go(PREPARING)
    keeper = year.visit("ignatius")
    keeper.fill(f"/sowings/{sowing}/counts/", number=SEEDS_CAME)
    return year


@pytest.fixture
def opened(stocked) -> Year:
    stocked.visit("ignatius").fill(
        "/rounds/open/",
        name="Seed exchange 2026",
        slug="seed-2026",
        donations_close_at="2026-10-01T20:00",
        list_opens_at="2026-10-20T09:00",
        wishes_close_at="2026-11-20T20:00",
        posting_from="2026-12-07",
        allowance=2,
        donor_extra=1,
        reserves=2,
        policy="turns",
        public_value_name="State lottery of 5 December 2026, in the order drawn",
    )
    return stocked


@pytest.fixture
def listed(opened) -> Year:
    """The list is published, and line 3 is barred to Australia."""
    keeper = opened.visit("ignatius")
    keeper.press(f"{AT}/list/edit/", all="all")
    keeper.press(f"{AT}/list/publish/")
    keeper.press(f"{AT}/list/3/bar/", country="AU", words=BARRED_WORDS)
    opened.go(WISHING)
    return opened


@pytest.fixture
def wished(listed) -> Year:
    for name, (main, reserve) in WISHES.items():
        listed.visit(name).fill(f"{AT}/wishes/", main=main, reserve=reserve)
    return listed


@pytest.fixture
def shared(wished) -> Year:
    wished.go(SHARING)
    wished.visit("ignatius").press(f"{AT}/sharing/freeze/")
    wished.go(DRAWN)
    wished.visit("ignatius").press(f"{AT}/sharing/run/", public_value=PUBLIC_VALUE)
    return wished


@pytest.fixture
def announced(shared) -> Year:
    shared.visit("ignatius").press(f"{AT}/sharing/announce/")
    shared.go(PACKING)
    return shared
