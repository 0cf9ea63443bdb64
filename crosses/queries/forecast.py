"""When the society's own looks and the books say a capsule will split."""

import datetime
import math
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Min, Prefetch, Q

from crosses.access import pollinations_visible_to
from crosses.calc.capsule import Seen, opening_interval
from crosses.calc.errors import BadInput
from crosses.calc.names import Name, read_or_plain
from crosses.calc.windows import (
    Disagreement,
    Forecast,
    Opening,
    Place,
    Pool,
    Posterior,
    Record,
    Window,
    chance_before,
    disagreement,
    forecast,
)
from crosses.formats.charts import Chart, DayChance, survival_bar
from crosses.models import Check, HarvestedPollination, Plant, Pollination, Taxon
from crosses.queries.capsules import state_of_loaded

# More days than this cannot be told apart in the picture.
DAYS_DRAWN = 120
_CLOSED_KINDS = frozenset({"nothing_yet", "corolla_faded", "still_there", "swelling", "colouring"})
# Flowers nobody saw set are waited for until so many of those that took would have split, and where
# no window is known for as long as the slowest capsules take (common practice, no source).
ALMOST_ALL = 0.99
DAYS_WITHOUT_WINDOW = 550
# Where a plant came from, as far as `genus_of` asks.
_RAISED = "raised_from__seed_parent"
_LINES = (
    "propagated_from",
    _RAISED,
    f"{_RAISED}__propagated_from",
    f"{_RAISED}__{_RAISED}",
)
STANDING_CHECKS = Prefetch("checks", queryset=Check.objects.filter(withdrawn_at=None))
STANDING_HARVESTS = Prefetch(
    "harvests",
    queryset=HarvestedPollination.objects.filter(harvest__withdrawn_at=None).select_related(
        "harvest"
    ),
)


@dataclass(frozen=True)
class Outlook:
    """The forecast of one pollination in days of the calendar, or the reason why there is none."""

    why_not: str = ""
    # Nothing can come of it any more, though nobody has said so of each flower.
    is_past: bool = False
    split_by_10_on: datetime.date | None = None
    split_by_50_on: datetime.date | None = None
    split_by_90_on: datetime.date | None = None
    look_daily_from: datetime.date | None = None
    chance_by_tomorrow: float | None = None
    sentence: str = ""
    basis: str = ""
    forecast: Forecast | None = None


@dataclass
class SocietyForecast:
    """Windows and records of the genera asked for; what is reckoned once is kept for the page."""

    windows: dict[tuple[str, int | None], Window]
    records: dict[str, list[Record]]
    asked: dict[str, list[Place]] = field(default_factory=dict)
    _pools: dict[tuple[str, int | None], Pool] = field(default_factory=dict)
    _known: dict[int, Posterior] = field(default_factory=dict)
    _forecasts: dict[tuple[int, float], Forecast] = field(default_factory=dict)

    def known(self, pollination: Pollination) -> Posterior | None:
        """Return what is known of a pollination's time to split, its own record left out.

        Levels are the genus, the taxon, the seed parent and the cross, and beside them the season.
        """
        plant = pollination.cross.seed_parent
        genus = genus_of(plant)
        if self._window(genus, plant) is None:
            return None
        if pollination.pk not in self._known:
            pool = self._pool(genus, plant)
            self._known[pollination.pk] = pool.of(place_of(pollination), own=pollination.pk)
        return self._known[pollination.pk]

    def _window(self, genus: str, plant: Plant) -> Window | None:
        return self.windows.get((genus, plant.taxon_id)) or self.windows.get((genus, None))

    def _pool(self, genus: str, plant: Plant) -> Pool:
        """Return the records that speak under a plant's window.

        A window of the taxon's own stands above the genus: its records were looked at when that
        window was chosen.
        """
        is_of_taxon = (genus, plant.taxon_id) in self.windows
        key = (genus, plant.taxon_id if is_of_taxon else None)
        if key not in self._pools:
            speak = [
                each
                for each in self.records.get(genus, [])
                if not is_of_taxon or each.place.taxon == plant.taxon_id
            ]
            near = self.asked.get(genus, [])
            self._pools[key] = Pool(self.windows[key], speak, near)
        return self._pools[key]

    def chance_within(
        self, pollination: Pollination, today: datetime.date, days: int
    ) -> float | None:
        """Chance that it splits within some days, or has split unseen since it was seen closed."""
        known = self.known(pollination)
        if known is None:
            return None
        closed = last_seen_closed(pollination)
        age = (closed - pollination.pollinated_on).days
        return chance_before(known, age, max((today - closed).days, 0) + days)

    def outlook(self, pollination: Pollination, today: datetime.date) -> Outlook:
        """Return the forecast of a pollination since it was last seen closed."""
        if pollination.state == Pollination.State.NO_POLLEN:
            return Outlook(why_not="No pollen was found: nothing is expected.")
        if pollination.state not in OPEN_STATES or pollination.is_withdrawn:
            return Outlook(why_not="Nothing is left to wait for.")
        if pollination.state == Pollination.State.RIPE:
            return Outlook(why_not="It is ripe: harvest it, and look daily until you do.")
        if past := self.why_past(pollination, today):
            return Outlook(why_not=past, is_past=True)
        known = self.known(pollination)
        if known is None:
            return Outlook(why_not=_why_no_window(pollination.cross.seed_parent))
        closed = last_seen_closed(pollination)
        age = (closed - pollination.pollinated_on).days
        key = (id(known), age)
        if key not in self._forecasts:
            self._forecasts[key] = forecast(known, age)
        return _outlook(
            pollination,
            self._forecasts[key],
            chance_before(known, age, max((today - closed).days, 0) + 1),
        )

    def why_past(self, pollination: Pollination, today: datetime.date) -> str:
        """Say why nothing is waited for of flowers that nobody saw set; empty while one may be.

        It is counted from the last time they were said to be still there.
        """
        if state_of_loaded(pollination).capsules_open:
            return ""
        again = [look.seen_on for look in pollination.checks.all() if look.kind == "still_there"]
        since = max([pollination.pollinated_on, *again])
        days = max((today - since).days, 0)
        known = self.known(pollination)
        if known is None:
            if days <= DAYS_WITHOUT_WINDOW:
                return ""
            return "Nobody saw it set, and few capsules take longer than a year and a half."
        age = (since - pollination.pollinated_on).days
        if chance_before(known, age, days) < ALMOST_ALL:
            return ""
        return "Nobody saw it set, and if it had, it would have split by now."

    def disagreement(self, pollination: Pollination) -> Disagreement | None:
        """Say if the society's records and the book's window do not belong together."""
        plant = pollination.cross.seed_parent
        genus = genus_of(plant)
        window = self._window(genus, plant)
        if window is None:
            return None
        is_of_taxon = (genus, plant.taxon_id) in self.windows
        records = [
            each.opening
            for each in self.records.get(genus, [])
            if each.place.taxon == plant.taxon_id or not is_of_taxon
        ]
        return disagreement(window, records)


OPEN_STATES = (Pollination.State.WAITING, Pollination.State.TAKEN, Pollination.State.RIPE)


def society_forecast(
    viewer: Any, pollinations: Iterable[Pollination], *, before: datetime.date | None = None
) -> SocietyForecast:
    """Load the windows and records of the genera of some pollinations, in four queries.

    With `before` only flowers pollinated before that day teach. Records are those of
    crosses the viewer may see: what a grower keeps to themselves teaches
    nobody else. Pollinations need their cross, seed parent and its taxon loaded.
    """
    asked: dict[str, list[Place]] = defaultdict(list)
    own = set()
    for pollination in pollinations:
        asked[genus_of(pollination.cross.seed_parent)].append(place_of(pollination))
        own.add(pollination.pk)
    genera = set(asked) - {""}
    windows: dict[tuple[str, int | None], Window] = {}
    for taxon in Taxon.objects.filter(genus__in=genera).exclude(ripe_low_days=None):
        window = Window(taxon.ripe_low_days or 0, taxon.ripe_high_days or 0)
        windows[taxon.genus, taxon.pk if taxon.species else None] = window
        if not taxon.species:
            # A plant known by its genus alone has the window of the genus.
            windows[taxon.genus, taxon.pk] = window
    known_genera = {genus for genus, _taxon in windows}
    return SocietyForecast(windows, _records(viewer, known_genera, before, own), asked)


def place_of(pollination: Pollination) -> Place:
    cross = pollination.cross
    return Place(
        cross.seed_parent.taxon_id, cross.seed_parent_id, cross.pk, pollination.pollinated_on.year
    )


def _records(
    viewer: Any, genera: set[str], before: datetime.date | None, own: set[int]
) -> dict[str, list[Record]]:
    """Load every record of the genera as plain values: there are many, and all are read."""
    of_genera = Q(taxon__genus__in=genera)
    for line in _LINES:
        of_genera |= Q(**{f"{line}__taxon__genus__in": genera})
    parents = (
        Plant.objects.filter(of_genera, crosses_as_seed_parent__pollinations__capsules_set__gte=1)
        .select_related("taxon", *(f"{line}__taxon" for line in _LINES))
        .distinct()
        .in_bulk()
    )
    took = pollinations_visible_to(viewer).filter(
        cross__seed_parent__in=list(parents), withdrawn_at=None, capsules_set__gte=1
    )
    if before is not None:
        took = took.filter(pollinated_on__lt=before)
    seen: dict[int, list[Seen]] = defaultdict(list)
    looks = Check.objects.filter(withdrawn_at=None, pollination__in=took.values("pk")).order_by()
    for pollination, day, kind, flowers in looks.values_list(
        "pollination_id", "seen_on", "kind", "flowers"
    ):
        seen[pollination].append(Seen(day, kind, flowers))
    harvests = HarvestedPollination.objects.filter(
        harvest__withdrawn_at=None, pollination__in=took.values("pk")
    )
    cut_on = dict(
        harvests.values_list("pollination_id").annotate(Min("harvest__harvested_on")).order_by()
    )
    records: dict[str, list[Record]] = defaultdict(list)
    for pollination, day, cross, parent in took.order_by().values_list(
        "pk", "pollinated_on", "cross_id", "cross__seed_parent_id"
    ):
        opening = opening_of(day, seen[pollination], cut_on.get(pollination))
        if opening is not None:
            plant = parents[parent]
            place = Place(plant.taxon_id, parent, cross, day.year)
            mark = pollination if pollination in own else None
            records[genus_of(plant)].append(Record(place, opening, mark))
    return records


def opening_of(
    pollinated_on: datetime.date, seen: list[Seen], cut_on: datetime.date | None
) -> Opening | None:
    """Return when a capsule opened as far as it was seen; one cut closed gives a lower end."""
    try:
        found = opening_interval(pollinated_on, seen, cut_on)
    except BadInput:
        # A record that contradicts itself was refused when it was written; an import may hold one.
        return None
    return Opening(found.closed_until_day, found.opened_by_day) if found else None


def genus_of(plant: Plant, generations: int = 2) -> str:
    """Return the genus of a plant: its taxon's, its name's, or that of the plants it came from.

    A seedling is mostly a number and has no taxon; two generations of seed parents are asked.
    """
    if plant.taxon is not None:
        return plant.taxon.genus
    node = read_or_plain(plant.name_text)
    if isinstance(node, Name) and node.genus:
        return node.genus
    if generations == 0:
        return ""
    if plant.propagated_from is not None:
        return genus_of(plant.propagated_from, 0)
    if plant.raised_from is not None:
        return genus_of(plant.raised_from.seed_parent, generations - 1)
    return ""


def last_seen_closed(pollination: Pollination) -> datetime.date:
    """Return the last day it was seen closed; the day of pollination if it was never looked at.

    On the day when some of its capsules had split the others were closed.
    """
    looks = [
        check.seen_on
        for check in pollination.checks.all()
        if check.kind in _CLOSED_KINDS
        or (check.kind == "split" and (check.flowers or math.inf) < pollination.capsules_set)
    ]
    return max([pollination.pollinated_on, *looks])


def _why_no_window(plant: Plant) -> str:
    genus = genus_of(plant)
    if not genus:
        return f"No forecast: {plant.number} has no taxon. Give it one, and a window may be known."
    return f"No forecast: the society has no window of ripening for {genus}."


def _outlook(pollination: Pollination, ahead: Forecast, by_tomorrow: float) -> Outlook:
    def on(days: float) -> datetime.date:
        return pollination.pollinated_on + datetime.timedelta(days=round(days))

    low, half, high = map(
        on, (ahead.split_by_10_days, ahead.split_by_50_days, ahead.split_by_90_days)
    )
    if_it_takes = "" if pollination.capsules_set else " if it takes"
    return Outlook(
        split_by_10_on=low,
        split_by_50_on=half,
        split_by_90_on=high,
        look_daily_from=on(ahead.look_daily_from_days),
        chance_by_tomorrow=by_tomorrow,
        sentence=(
            f"Likely to split between {low.day} {low:%B} and {high.day} {high:%B}{if_it_takes}:"
            " 8 of 10 such capsules do. Half have split by"
            f" {half.day} {half:%B}."
        ),
        basis=ahead.basis,
        forecast=ahead,
    )


def with_forecast_facts(pollinations: Any) -> Any:
    """Load what a forecast needs of pollinations."""
    return pollinations.select_related(
        "cross__grower",
        "cross__seed_parent__taxon",
        "cross__pollen_parent__taxon",
        *(f"cross__seed_parent__{line}__taxon" for line in _LINES),
    ).prefetch_related(STANDING_CHECKS, STANDING_HARVESTS, "cross__pollen_shares__plant")


@dataclass(frozen=True)
class OutlookPage:
    """The forecast of one pollination with its picture, and what the records say of the book."""

    outlook: Outlook
    chart: Chart | None
    disagreement: Disagreement | None


def outlook_page(viewer: Any, pollination: Pollination, today: datetime.date) -> OutlookPage:
    found = with_forecast_facts(pollinations_visible_to(viewer)).get(pk=pollination.pk)
    ahead = society_forecast(viewer, [found])
    outlook = ahead.outlook(found, today)
    return OutlookPage(outlook, _chart(found, ahead, outlook, today), ahead.disagreement(found))


def _chart(
    pollination: Pollination, ahead: SocietyForecast, outlook: Outlook, today: datetime.date
) -> Chart | None:
    """Draw the chance of still finding it closed, from today to the end of the window."""
    known = ahead.known(pollination)
    if known is None or outlook.split_by_90_on is None:
        return None
    closed = last_seen_closed(pollination)
    age = (closed - pollination.pollinated_on).days
    last = max(outlook.split_by_90_on, today) + datetime.timedelta(days=3)
    days = [
        today + datetime.timedelta(days=ahead_days) for ahead_days in range((last - today).days)
    ]
    chances = [
        DayChance(day, 1 - chance_before(known, age, max((day - closed).days, 0)))
        for day in days[:DAYS_DRAWN]
    ]
    return survival_bar(
        "outlook",
        f"When {pollination.number} may split",
        chances,
        look_daily_from=outlook.look_daily_from,
        basis=outlook.basis,
    )
