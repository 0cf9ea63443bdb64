"""Germination history as rows for a spreadsheet; the headings are the names the API uses."""

from collections.abc import Iterable, Iterator

from crosses.queries.parentage import NamedPlant
from seedbank.formats.tables.writing import Value
from seedbank.sowings.models import Pretreatment
from seedbank.sowings.queries.history import HistoryRow

_OF_INDICES = {
    "mean_germination_time_days": "mean_germination_time_days",
    "mean_germination_time_lower_days": "mean_germination_time_lower_days",
    "mean_germination_time_standard_error_days": "standard_error_days",
    "median_time_coolbear_days": "median_time_coolbear_days",
    "median_time_farooq_days": "median_time_farooq_days",
    "median_time_of_all_sown_days": "median_time_of_all_sown_days",
    "first_day": "first_day",
    "last_day": "last_day",
}


def _cells(row: HistoryRow) -> dict[str, Value]:
    sowing, lot, parentage, share = row.sowing, row.lot, row.parentage, row.share
    return {
        "sowing": sowing.number,
        "name": lot.name_text,
        "taxon": lot.taxon.name if lot.taxon else None,
        "genus": row.genus,
        "cross": parentage.cross if parentage else None,
        "formula": parentage.formula if parentage else None,
        "seed_parent": parentage.seed_parent.name_text if parentage else None,
        "pollen": parentage.pollen if parentage else None,
        "pollen_parents": _pollen(parentage.pollen_parents) if parentage else None,
        "parents_certainty_percent": row.parents_certainty_percent,
        "lot": lot.number,
        "packet": sowing.packet.number,
        "origin": lot.origin,
        "harvest_year": lot.year,
        "harvested_on": lot.collected_on,
        "sown_on": sowing.sown_on,
        "seed_age_days_low": row.seed_age.days_low,
        "seed_age_days_high": row.seed_age.days_high,
        "grower": row.grower_code,
        "purpose": sowing.purpose,
        "medium": sowing.medium,
        "light": sowing.light,
        "temperature_low_celsius": sowing.temperature_low_celsius,
        "temperature_high_celsius": sowing.temperature_high_celsius,
        "pretreatments": "; ".join(_step(step) for step in sowing.pretreatments.all()),
        "pots": row.pots,
        # Day and newly seen, so that a spreadsheet's own split by ";" and ":" gives the counts.
        "looks": "; ".join(f"{look.day}: {look.newly_seen}" for look in row.looks),
        "germinated": share.x if share else None,
        "seeds": sowing.seeds_sown,
        "seeds_looked_at": share.n if share else None,
        "share": share.estimate if share else None,
        "share_low": share.low if share else None,
        "share_high": share.high if share else None,
        "share_confidence": share.confidence if share else None,
        **{
            heading: getattr(row.indices, name) if row.indices else None
            for heading, name in _OF_INDICES.items()
        },
        "is_open": sowing.closed_on is None,
        "closed_on": sowing.closed_on,
        "left_fresh": sowing.left_fresh,
        "left_dead": sowing.left_dead,
        "left_abnormal": sowing.left_abnormal,
        "how_share": row.how.share,
        "how_seed_age": row.how.seed_age,
        "how_parents": row.how.parents,
        "how_mean_germination_time": row.how.mean_germination_time,
        "how_median_time": row.how.median_time,
    }


HISTORY_HEADINGS = (
    "sowing",
    "name",
    "taxon",
    "genus",
    "cross",
    "formula",
    "seed_parent",
    "pollen",
    "pollen_parents",
    "parents_certainty_percent",
    "lot",
    "packet",
    "origin",
    "harvest_year",
    "harvested_on",
    "sown_on",
    "seed_age_days_low",
    "seed_age_days_high",
    "grower",
    "purpose",
    "medium",
    "light",
    "temperature_low_celsius",
    "temperature_high_celsius",
    "pretreatments",
    "pots",
    "looks",
    "germinated",
    "seeds",
    "seeds_looked_at",
    "share",
    "share_low",
    "share_high",
    "share_confidence",
    *_OF_INDICES,
    "is_open",
    "closed_on",
    "left_fresh",
    "left_dead",
    "left_abnormal",
    "how_share",
    "how_seed_age",
    "how_parents",
    "how_mean_germination_time",
    "how_median_time",
)


def history_table(rows: Iterable[HistoryRow]) -> Iterator[tuple[Value, ...]]:
    for row in rows:
        cells = _cells(row)
        yield tuple(cells[heading] for heading in HISTORY_HEADINGS)


def _pollen(plants: Iterable[NamedPlant]) -> str:
    return "; ".join(plant.name_text for plant in plants)


def _step(step: Pretreatment) -> str:
    facts = (
        (step.days, "days"),
        (step.temperature_celsius, "°C"),
        (step.concentration_ppm, "ppm"),
    )
    return " ".join(
        [
            step.get_kind_display(),
            *(f"{value:g} {unit}" for value, unit in facts if value is not None),
        ]
    )
