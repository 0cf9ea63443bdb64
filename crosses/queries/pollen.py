"""When pollen was found: of a grower's visits to flowers, in how many there was any."""

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from crosses.access import pollinations_visible_to
from crosses.calc.rates import wilson
from crosses.formats.charts import Chart, ShareBar, bars_with_intervals
from crosses.models.pollination import PollenState
from crosses.queries.glance import MONTHS

# Warmth can suppress pollen; bands of five degrees are as fine as a grower's thermometer
# (common practice, no source).
DEGREES_A_BAND = 5

Visit = tuple[int, bool, int | None, Decimal | None]


@dataclass(frozen=True)
class PollenFound:
    """Shares of visits at which pollen was found, each picture None where nothing can be told."""

    by_month: Chart | None
    by_temperature: Chart | None
    by_hour: Chart | None


def pollen_found(grower: Any) -> PollenFound:
    """Draw in what share of visits fresh pollen was found, in one query.

    Nothing is drawn before there was a visit without pollen: until then nobody looked for it.
    """
    visits: list[Visit] = [
        (day.month, seen, None if hour is None else hour.hour, air)
        for day, seen, hour, air in pollinations_visible_to(grower)
        .filter(
            cross__grower=grower,
            withdrawn_at=None,
            cross__withdrawn_at=None,
            pollen_state=PollenState.FRESH,
        )
        .order_by()
        .values_list("pollinated_on", "pollen_seen", "pollinated_time", "air_temperature_celsius")
    ]
    if all(seen for _month, seen, _hour, _air in visits):
        return PollenFound(None, None, None)
    return PollenFound(
        by_month=_bars("month", "by month", visits, lambda visit: visit[0], _month),
        by_temperature=_bars(
            "temperature", "by temperature of the air", visits, _band, _band_in_words
        ),
        by_hour=_bars("hour", "by hour", visits, lambda visit: visit[2], _hour),
    )


def _bars(
    key: str,
    how: str,
    visits: list[Visit],
    group: Callable[[Visit], int | None],
    words: Callable[[int], str],
) -> Chart | None:
    groups: dict[int, list[bool]] = defaultdict(list)
    for visit in visits:
        if (of := group(visit)) is not None:
            groups[of].append(visit[1])
    if not groups:
        return None
    shares = [(words(of), wilson(sum(seen), len(seen))) for of, seen in sorted(groups.items())]
    return bars_with_intervals(
        f"pollen-{key}",
        f"When pollen was found, {how}",
        [ShareBar(label, share.x, share.n, share.low, share.high) for label, share in shares],
    )


def _band(visit: Visit) -> int | None:
    return None if visit[3] is None else int(visit[3] // DEGREES_A_BAND) * DEGREES_A_BAND


def _band_in_words(low: int) -> str:
    return f"{low} to {low + DEGREES_A_BAND} °C"


def _month(month: int) -> str:
    return MONTHS[month - 1]


def _hour(hour: int) -> str:
    return f"{hour}:00 to {hour + 1}:00"
