"""By what germination history may be grouped: which columns it takes, and how they are told.

Only columns are read, never whole records, so that a group of a hundred thousand sowings is added
up in seconds.
"""

from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from django.db.models import QuerySet

from crosses.access import crosses_visible_to, taxa_known
from crosses.models import Cross
from crosses.queries.kinds import genus_written
from crosses.queries.written import cross_formula, parents_of
from seedbank.members.models import Member
from seedbank.sowings.models import Pretreatment, Sowing
from seedbank.sowings.queries.history import seed_age
from seedbank.sowings.queries.narrowing import UNTREATED

BAND_CELSIUS = 5
DAYS_OF_A_YEAR = 365.25

Key = str | int | None
# From one row's columns to what it is told as.
Tell = Callable[..., Key]


@dataclass(frozen=True)
class Grouper:
    """`look_up` asks, once for all sowings, what it takes to tell the columns of each."""

    words: str
    columns: tuple[str, ...]
    look_up: Callable[[QuerySet[Sowing], Member], Tell]


def _as_it_is(_sowings: QuerySet[Sowing], _viewer: Member) -> Tell:
    return lambda value: value


def _plainly(tell: Tell) -> Callable[[QuerySet[Sowing], Member], Tell]:
    return lambda _sowings, _viewer: tell


def _taxa(_sowings: QuerySet[Sowing], _viewer: Member) -> Tell:
    names = {taxon.pk: taxon.name for taxon in taxa_known()}
    return names.get


def _genus(of_taxon: str | None, name_text: str) -> str:
    return of_taxon or genus_written(name_text)


def _of_cross(tell: Callable[[Cross], Key]) -> Callable[[QuerySet[Sowing], Member], Tell]:
    def look_up(sowings: QuerySet[Sowing], _viewer: Member) -> Tell:
        crosses = _crosses_of(sowings)
        return {cross.pk: tell(cross) for cross in crosses}.get

    return look_up


def _crosses_of(sowings: QuerySet[Sowing]) -> QuerySet[Cross]:
    asked = sowings.order_by().values("packet__lot__harvest__cross")
    return (
        Cross.objects.filter(pk__in=asked)
        .select_related("seed_parent", "pollen_parent")
        .prefetch_related("pollen_shares__plant")
    )


def _pollen_parent(cross: Cross) -> Key:
    """Of a mixture all its plants together; of open or unknown pollen just that word."""
    names = [plant.name_text for plant, _part in parents_of(cross).pollen]
    return " + ".join(names) if names else Cross.Pollen(cross.pollen).label


def _season(_sowings: QuerySet[Sowing], viewer: Member) -> Tell:
    """Of a private cross its season is not told."""
    seasons = dict(crosses_visible_to(viewer).values_list("pk", "season"))
    return seasons.get


def _treatment(sowings: QuerySet[Sowing], _viewer: Member) -> Tell:
    """The kinds of steps in order; their days and degrees are in the rows."""
    steps: defaultdict[int, list[str]] = defaultdict(list)
    rows = Pretreatment.objects.filter(sowing__in=sowings.order_by().values("pk"))
    for sowing, kind in rows.order_by("sowing", "position").values_list("sowing", "kind"):
        steps[sowing].append(kind)
    return lambda sowing: " then ".join(steps[sowing]) if sowing in steps else UNTREATED


def _temperature(low: Decimal | None, high: Decimal | None) -> Key:
    """Bands of five degrees by the middle of the two temperatures; None where not said."""
    known = [float(value) for value in (low, high) if value is not None]
    if not known:
        return None
    band = int(sum(known) / len(known) // BAND_CELSIUS * BAND_CELSIUS)
    return f"{band} to under {band + BAND_CELSIUS} °C"


def _age(collected_on: date | None, year: int, sown_on: date) -> Key:
    """Bands of a year; where only the year of harvest is known, by the middle of what may be."""
    age = seed_age(collected_on, year, sown_on)
    years = int((age.days_low + age.days_high) / 2 / DAYS_OF_A_YEAR)
    return "under 1 year" if years <= 0 else f"{years} to under {years + 1} years"


_LOT = "packet__lot__"
_CROSS = (f"{_LOT}harvest__cross",)

GROUPERS: dict[str, Grouper] = {
    "taxon": Grouper("The seed's taxon.", (f"{_LOT}taxon",), _taxa),
    "genus": Grouper(
        "The genus, of the taxon or of the written name.",
        (f"{_LOT}taxon__genus", f"{_LOT}name_text"),
        _plainly(_genus),
    ),
    "formula": Grouper("The cross as it is written.", _CROSS, _of_cross(cross_formula)),
    "seed_parent": Grouper(
        "The seed parent's name.", _CROSS, _of_cross(lambda cross: cross.seed_parent.name_text)
    ),
    "pollen_parent": Grouper("The pollen parent's name.", _CROSS, _of_cross(_pollen_parent)),
    "lot": Grouper("The seed lot's number.", (f"{_LOT}number",), _as_it_is),
    "season": Grouper("The year of the pollination, where the cross is told.", _CROSS, _season),
    "harvest_year": Grouper("The year of the harvest.", (f"{_LOT}year",), _as_it_is),
    "sown_year": Grouper("The year of the sowing.", ("sown_on",), _plainly(lambda day: day.year)),
    "seed_age": Grouper(
        "How old the seed was when sown, in whole years.",
        (f"{_LOT}collected_on", f"{_LOT}year", "sown_on"),
        _plainly(_age),
    ),
    "treatment": Grouper("What was done to the seed before.", ("pk",), _treatment),
    "temperature": Grouper(
        "The middle of the temperatures, in bands of five degrees.",
        ("temperature_low_celsius", "temperature_high_celsius"),
        _plainly(_temperature),
    ),
    "grower": Grouper("Who sowed, by donor's code.", ("grower__donor_code",), _as_it_is),
}


def keyed(
    sowings: QuerySet[Sowing], group_by: tuple[str, ...], viewer: Member, columns: tuple[str, ...]
) -> Iterator[tuple[tuple[Key, ...], tuple[Any, ...]]]:
    """Give, of each sowing, the keys of its group and the columns asked for; no sowing twice."""
    groupers = [GROUPERS[name] for name in group_by]
    tells = [grouper.look_up(sowings, viewer) for grouper in groupers]
    wanted = [*columns, *(column for grouper in groupers for column in grouper.columns)]
    rows = sowings.order_by().values_list(*wanted)
    for row in rows.iterator(chunk_size=5000):
        at, keys = len(columns), []
        for grouper, tell in zip(groupers, tells, strict=True):
            end = at + len(grouper.columns)
            keys.append(tell(*row[at:end]))
            at = end
        yield tuple(keys), row[: len(columns)]
