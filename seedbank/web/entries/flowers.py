"""Entries about plants and flowers: what is pollinated, seen, harvested, taken back."""

import datetime
import uuid
from typing import Any

from django.urls import reverse

from crosses.access import (
    cross_for_writing,
    pollination_for_reading,
    pollination_for_writing,
)
from crosses.actions.capsule import record_check
from crosses.actions.harvest import CAPSULES_OF, log_harvest
from crosses.actions.plant import add_plant
from crosses.actions.pollination import (
    add_touch_up,
    log_gesture,
    withdraw_pollination,
)
from crosses.forms.capsule import CheckForm
from crosses.forms.fields import WithdrawForm
from crosses.forms.harvest import HarvestForm
from crosses.forms.plant import PlantForm
from crosses.forms.pollination import PollinationForm, TouchUpForm
from crosses.models import Check, Harvest, Plant, Pollination, TouchUp
from crosses.queries.forecast import OPEN_STATES
from crosses.queries.harvests import flowers_to_harvest
from seedbank.members.models import Member
from seedbank.web.entries.base import Entry, Kind, Prepared, Stands, Told, number_about
from seedbank.web.standing import flower_as_it_stands, harvest_as_it_stands


def _pollination_by_key(key: uuid.UUID, by: Member) -> Pollination | None:
    return Pollination.objects.filter(client_key=key, logged_by=by).first()


def harvest_by_key(key: uuid.UUID, by: Member) -> Harvest | None:
    return Harvest.objects.filter(client_key=key, logged_by=by).first()


def _pollination(
    entry: Entry, by: Member, today: datetime.date, moment: datetime.datetime
) -> Prepared:
    form = PollinationForm(entry.typed, user=by, today=today)
    if form.is_valid() and not entry.is_agreed:
        _refuse_renamed(form, entry)
    return form, lambda: log_gesture(by=by, at=moment, client_key=entry.key, **form.gesture())


def _refuse_renamed(form: PollinationForm, entry: Entry) -> None:
    """A tag was written with the name that the device showed."""
    plants: list[tuple[str, Plant | None]] = [
        (name, form.cleaned_data.get(name)) for name in ("seed_parent", "pollen_parent")
    ]
    renamed = [
        f"{plant.number} is now called {plant.name_text}. On your device it was {entry.seen[name]}."
        for name, plant in plants
        if plant is not None and entry.seen.get(name) and entry.seen[name] != plant.name_text
    ]
    if renamed:
        raise Stands("A plant was given another name meanwhile. Is it the one you meant?", renamed)


def _flower_of(entry: Entry, by: Member) -> Pollination:
    return pollination_for_writing(by, number_about(entry, by, _pollination_by_key))


def _open_flower_of(entry: Entry, by: Member) -> Pollination:
    flower = _flower_of(entry, by)
    if not entry.is_agreed and (flower.is_withdrawn or flower.state not in OPEN_STATES):
        raise Stands(
            "This flower is no longer open, so a look or a touch-up may not belong to it.",
            flower_as_it_stands(flower),
            may_agree=not flower.is_withdrawn,
        )
    return flower


def _flower_stands(entry: Entry, by: Member) -> list[str]:
    return flower_as_it_stands(pollination_for_reading(by, entry.about))


def _touch_up(
    entry: Entry, by: Member, today: datetime.date, moment: datetime.datetime
) -> Prepared:
    flower = _open_flower_of(entry, by)
    form = TouchUpForm(entry.typed, today=today)
    return form, lambda: add_touch_up(pollination=flower, by=by, at=moment, **form.cleaned_data)


def _check(entry: Entry, by: Member, today: datetime.date, moment: datetime.datetime) -> Prepared:
    flower = _open_flower_of(entry, by)
    form = CheckForm(entry.typed, entry.files, today=today)
    return form, lambda: record_check(pollination=flower, by=by, at=moment, **form.cleaned_data)


def _harvest(entry: Entry, by: Member, today: datetime.date, moment: datetime.datetime) -> Prepared:
    cross = cross_for_writing(by, entry.about)
    form = HarvestForm(entry.typed, open_flowers=flowers_to_harvest(cross), today=today)
    _refuse_closed_flowers(form, entry, by)
    return form, lambda: log_harvest(
        cross=cross,
        by=by,
        at=moment,
        capsules=form.capsules(),
        client_key=entry.key,
        **form.facts(),
    )


def _refuse_closed_flowers(form: HarvestForm, entry: Entry, by: Member) -> None:
    """A flower that can bear no capsule any more has no place in the form: say so, drop nothing."""
    typed = [
        name.removeprefix(CAPSULES_OF)
        for name in entry.typed
        if name.startswith(CAPSULES_OF)
        and name not in form.fields
        and str(entry.typed[name]).strip()
    ]
    if typed:
        flowers = [pollination_for_reading(by, number) for number in typed]
        raise Stands(
            "You took capsules of a flower that is no longer open. Correct what was seen of it, or"
            " change this.",
            [line for flower in flowers for line in flower_as_it_stands(flower)],
            may_agree=False,
        )


def _plant(entry: Entry, by: Member, today: datetime.date, moment: datetime.datetime) -> Prepared:
    form = PlantForm(entry.typed, user=by)
    return form, lambda: add_plant(keeper=by, by=by, at=moment, **form.facts())


def _withdrawal(
    entry: Entry, by: Member, today: datetime.date, moment: datetime.datetime
) -> Prepared:
    flower = _flower_of(entry, by)
    form = WithdrawForm(entry.typed)
    return form, lambda: withdraw_pollination(
        pollination=flower, by=by, at=moment, **form.cleaned_data
    )


def _told_pollination(flower: Pollination) -> Told:
    address = reverse("pollination-tag", args=[flower.number])
    return Told(f"{flower.number} is written down.", address, flower.number)


def _told_about_flower(flower: Pollination, words: str) -> Told:
    address = reverse("pollination-detail", args=[flower.number])
    return Told(f"{flower.number}: {words}", address, flower.number)


def _told_harvest(harvest: Harvest) -> Told:
    # Seed that is counted goes on into packets; the rest is cleaned and counted first.
    further = "harvest-detail" if harvest.seeds is None else "lot-from-harvest"
    words = f"Harvest {harvest.number} is written down."
    return Told(words, reverse(further, args=[harvest.number]), harvest.number)


def _told_plant(plant: Plant) -> Told:
    address = reverse("plant-detail", args=[plant.number])
    return Told(f"{plant.number}, {plant.name_text}, is written down.", address, plant.number)


def _harvest_stands(entry: Entry, by: Member) -> list[str]:
    return harvest_as_it_stands(cross_for_writing(by, entry.about))


def _by_key(model: Any) -> Any:
    return lambda key, by: model.objects.filter(client_key=key, logged_by=by).first()


FLOWERS = {
    "pollination": Kind(_pollination, _told_pollination, _pollination_by_key),
    "check": Kind(
        _check,
        lambda check: _told_about_flower(
            check.pollination, f"{check.get_kind_display()} is noted."
        ),
        _by_key(Check),
        _flower_stands,
    ),
    "touch-up": Kind(
        _touch_up,
        lambda touch_up: _told_about_flower(touch_up.pollination, "touched up."),
        _by_key(TouchUp),
        _flower_stands,
    ),
    "harvest": Kind(_harvest, _told_harvest, harvest_by_key, _harvest_stands),
    "withdrawal": Kind(
        _withdrawal, lambda flower: _told_about_flower(flower, "withdrawn."), None, _flower_stands
    ),
    "plant": Kind(_plant, _told_plant),
}
