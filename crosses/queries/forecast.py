"""When the society's own looks and the books say a capsule will split."""

import datetime
import math
from collections import defaultdict
from collections.abc import Callable, Iterable
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
    Posterior,
    Window,
    chance_before,
    disagreement,
    forecast,
    narrowed,
    posterior,
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
class _Genus:
    """Records of a genus, those of each taxon and each seed parent together."""

    of_parent: dict[tuple[int | None, int], dict[int, Opening]] = field(default_factory=dict)

    def add(self, plant: Plant, pollination: int, opening: Opening) -> None:
        self.of_parent.setdefault((plant.taxon_id, plant.pk), {})[pollination] = opening

    def openings(self, keep: Callable[[int | None, int], bool]) -> list[Opening]:
        """Return the records of the seed parents that are to be kept."""
        return [
            opening
            for (taxon, parent), records in self.of_parent.items()
            if keep(taxon, parent)
            for opening in records.values()
        ]


@dataclass
class SocietyForecast:
    """Windows and records of the genera asked for; what is reckoned once is kept for the page."""

    windows: dict[tuple[str, int | None], Window]
    records: dict[str, _Genus]
    _known: dict[tuple[object, ...], Posterior] = field(default_factory=dict)
    _forecasts: dict[tuple[int, float], Forecast] = field(default_factory=dict)

    def known(self, pollination: Pollination) -> Posterior | None:
        """Return what is known of a pollination's time to split, its own record left out.

        Levels are the genus, the taxon and the seed parent. A window of the taxon's own stands
        above the genus: its records were looked at when that window was chosen.
        """
        plant = pollination.cross.seed_parent
        genus = genus_of(plant)
        if self._window(genus, plant) is None:
            return None
        above = self._above(genus, plant)
        of_parent = self.records[genus].of_parent.get((plant.taxon_id, plant.pk), {})
        own = of_parent.get(pollination.pk)
        key = (plant.pk, own)
        if key not in self._known:
            others = [opening for pk, opening in of_parent.items() if pk != pollination.pk]
            self._known[key] = narrowed(above, others, "of this seed parent")
        return self._known[key]

    def _window(self, genus: str, plant: Plant) -> Window | None:
        return self.windows.get((genus, plant.taxon_id)) or self.windows.get((genus, None))

    def _above(self, genus: str, plant: Plant) -> Posterior:
        """Return what other seed parents teach: of the taxon, and above it of the genus."""
        key = ("above", plant.pk)
        if key not in self._known:
            others = self.records[genus].openings(
                lambda taxon, parent: taxon == plant.taxon_id and parent != plant.pk
            )
            self._known[key] = narrowed(self._of_genus(genus, plant), others, "of the taxon")
        return self._known[key]

    def _of_genus(self, genus: str, plant: Plant) -> Posterior:
        key = (genus, plant.taxon_id)
        if key not in self._known:
            window = self.windows.get(key)
            book = posterior(window or self.windows[genus, None], [])
            others = self.records[genus].openings(lambda taxon, _parent: taxon != plant.taxon_id)
            self._known[key] = narrowed(book, [] if window else others, "of the genus")
        return self._known[key]

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
        records = self.records[genus].openings(
            lambda taxon, _parent: taxon == plant.taxon_id or not is_of_taxon
        )
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
    genera = {genus_of(pollination.cross.seed_parent) for pollination in pollinations} - {""}
    windows: dict[tuple[str, int | None], Window] = {}
    for taxon in Taxon.objects.filter(genus__in=genera).exclude(ripe_low_days=None):
        window = Window(taxon.ripe_low_days or 0, taxon.ripe_high_days or 0)
        windows[taxon.genus, taxon.pk if taxon.species else None] = window
        if not taxon.species:
            # A plant known by its genus alone has the window of the genus.
            windows[taxon.genus, taxon.pk] = window
    return SocietyForecast(windows, _records(viewer, {genus for genus, _taxon in windows}, before))


def _records(viewer: Any, genera: set[str], before: datetime.date | None) -> dict[str, _Genus]:
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
    records: dict[str, _Genus] = defaultdict(_Genus)
    for pollination, day, parent in took.order_by().values_list(
        "pk", "pollinated_on", "cross__seed_parent_id"
    ):
        opening = opening_of(day, seen[pollination], cut_on.get(pollination))
        if opening is not None:
            plant = parents[parent]
            records[genus_of(plant)].add(plant, pollination, opening)
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
