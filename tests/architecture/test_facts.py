"""Every declared fact is in every room that is made from the declaration."""

from dataclasses import dataclass
from typing import Any

import pytest

from crosses.base.facts import RecordFacts
from crosses.facts.capsule import CHECK
from crosses.facts.cross import CROSS
from crosses.facts.harvest import HARVEST
from crosses.facts.plant import PLANT
from crosses.facts.pollination import POLLINATION
from crosses.forms import capsule as capsule_forms
from crosses.forms import cross as cross_forms
from crosses.forms import harvest as harvest_forms
from crosses.forms import plant as plant_forms
from crosses.forms import pollination as flower_forms
from seedbank.api.serializers import (
    germination,
    growing,
    keeping,
    packets,
    records,
    society,
    sowing,
)
from seedbank.bank.facts import DONATION, LOT, OFFERED, PACKET, PLACE
from seedbank.bank.forms import donation as donation_forms
from seedbank.bank.forms import lot as lot_forms
from seedbank.bank.forms import packet as packet_forms
from seedbank.bank.forms import place as place_forms
from seedbank.exchange import forms as exchange_forms
from seedbank.exchange.facts import LINE
from seedbank.sowings import forms as sowing_forms
from seedbank.sowings.facts import COUNT, SOWING
from seedbank.transfer.kind import Kind
from seedbank.transfer.kinds import KINDS


@dataclass(frozen=True)
class Rooms:
    """Where a record's facts are typed, sent, told and brought in."""

    declared: RecordFacts
    # None where the API does not tell of it.
    told: Any
    makes: tuple[Any, ...] = ()
    corrects: tuple[Any, ...] = ()
    sent: tuple[Any, ...] = ()
    sent_later: tuple[Any, ...] = ()
    kind: Kind | None = None


ROOMS = {
    "plant": Rooms(
        PLANT,
        records.PlantSerializer,
        makes=(plant_forms.PlantForm,),
        corrects=(plant_forms.ChangePlantForm,),
        sent=(growing.NewPlantSerializer,),
        sent_later=(growing.ChangedPlantSerializer,),
        kind=KINDS["plants"],
    ),
    "cross": Rooms(
        CROSS,
        records.CrossSerializer,
        makes=(cross_forms.CrossForm,),
        corrects=(cross_forms.ChangeCrossForm,),
        sent=(growing.NewCrossSerializer,),
        sent_later=(growing.ChangedCrossSerializer,),
        kind=KINDS["crosses"],
    ),
    "pollination": Rooms(
        POLLINATION,
        society.PollinationRecordSerializer,
        makes=(flower_forms.PollinationForm,),
        corrects=(flower_forms.ChangePollinationForm,),
        sent=(growing.NewPollinationSerializer,),
        sent_later=(growing.ChangedPollinationSerializer,),
        kind=KINDS["pollinations"],
    ),
    "check": Rooms(
        CHECK,
        packets.CheckSerializer,
        makes=(capsule_forms.CheckForm,),
        sent=(growing.NewCheckSerializer,),
        kind=KINDS["checks"],
    ),
    "harvest": Rooms(
        HARVEST,
        packets.HarvestSerializer,
        makes=(harvest_forms.HarvestForm,),
        corrects=(harvest_forms.SeedsForm,),
        sent=(growing.NewHarvestSerializer,),
        kind=KINDS["harvests"],
    ),
    "lot": Rooms(
        LOT,
        records.LotSerializer,
        makes=(lot_forms.LotForm,),
        corrects=(lot_forms.ChangeLotForm,),
        sent=(keeping.NewLotSerializer,),
        sent_later=(keeping.ChangedLotSerializer,),
        kind=KINDS["lots"],
    ),
    "seed offered by hand": Rooms(
        OFFERED,
        records.LotSerializer,
        makes=(donation_forms.HandOfferForm,),
        kind=KINDS["offers"],
    ),
    "packet": Rooms(
        PACKET,
        packets.PacketSerializer,
        makes=(packet_forms.MakePacketsForm,),
        sent=(keeping.NewPacketsSerializer,),
        kind=KINDS["packets"],
    ),
    "donation": Rooms(
        DONATION,
        society.DonationSerializer,
        makes=(donation_forms.OfferForm,),
        sent=(keeping.NewDonationSerializer,),
        kind=KINDS["donations"],
    ),
    "place": Rooms(
        PLACE,
        None,
        makes=(place_forms.PlaceForm,),
        kind=KINDS["places"],
    ),
    "sowing": Rooms(
        SOWING,
        germination.OwnSowingSerializer,
        makes=(sowing_forms.SowForm,),
        sent=(sowing.NewSowingSerializer,),
        kind=KINDS["sowings"],
    ),
    "count": Rooms(
        COUNT,
        sowing.CountSerializer,
        makes=(sowing_forms.CountForm,),
        sent=(sowing.NewCountSerializer,),
        kind=KINDS["counts"],
    ),
    "line of the list": Rooms(
        LINE,
        records.KeepersLineSerializer,
        corrects=(exchange_forms.LineForm,),
        sent_later=(keeping.ChangedLineSerializer,),
    ),
}
EACH = pytest.mark.parametrize("rooms", ROOMS.values(), ids=ROOMS)


@EACH
def test_a_declared_fact_is_a_field_of_the_model_and_of_its_history(rooms):
    model = rooms.declared.model
    versions = model.history.model if hasattr(model, "history") else model
    kept = {field.name for field in versions._meta.fields}
    assert {fact.name for fact in rooms.declared} <= kept


@EACH
def test_no_two_facts_have_one_name(rooms):
    for names in (
        [fact.name for fact in rooms.declared],
        [fact.api_name for fact in rooms.declared],
        [fact.column for fact in rooms.declared],
    ):
        assert len(set(names)) == len(names)


@EACH
def test_forms_are_made_from_the_declaration(rooms):
    for form in (*rooms.makes, *rooms.corrects):
        assert form.declared is rooms.declared
        assert form.is_for_making is (form in rooms.makes)
        assert set(form.by_hand) <= {fact.name for fact in rooms.declared}


@EACH
def test_what_may_be_written_may_be_sent(rooms):
    for making, serializers in ((True, rooms.sent), (False, rooms.sent_later)):
        wanted = {fact.api_name for fact in rooms.declared.written(making=making)}
        for serializer in serializers:
            assert wanted <= set(serializer().fields), serializer


@EACH
def test_what_may_be_written_is_read_back(rooms):
    wanted = {fact.api_name for fact in rooms.declared}
    assert rooms.told is None or wanted <= set(rooms.told().fields)


@EACH
def test_what_is_imported_has_its_column(rooms):
    wanted = {fact.column for fact in rooms.declared if fact.is_imported}
    assert rooms.kind is None or wanted <= {column.name for column in rooms.kind.columns}


def test_a_fact_nobody_declared_is_never_dropped_in_silence():
    with pytest.raises(TypeError, match="declares no fact colour"):
        POLLINATION.set_on(POLLINATION.model(), {"note": "", "colour": "red"})


def test_the_bounds_of_a_number_are_those_of_the_database():
    air = next(fact for fact in POLLINATION if fact.name == "air_temperature_celsius")
    flowers = next(fact for fact in POLLINATION if fact.name == "flowers")
    bounds = POLLINATION.bounds(air)
    assert (bounds.least, bounds.most) == (-30, 60)
    assert bounds.words == "Air temperature is in degrees Celsius, between -30 and 60."
    assert POLLINATION.bounds(flowers).least == 1
