"""Passport data (Multi-crop Passport Descriptors, V2.1) from elsewhere, as plants and seed lots."""

import datetime
from typing import Any

from crosses.actions.plant import add_plant
from crosses.base.countries import ALPHA_3
from crosses.calc.errors import BadInput
from crosses.models import Plant, Taxon
from seedbank.bank.actions.lot import add_lot
from seedbank.bank.models import Lot
from seedbank.formats.mcpd import DESCRIPTORS, PartialDate, read_passport
from seedbank.formats.tables import Column
from seedbank.transfer.cells import Cells, key_of
from seedbank.transfer.finding import refuse_withdrawn_row
from seedbank.transfer.kind import NOTHING_NEW, BroughtBy, Group, Kind, Outcome, made
from seedbank.transfer.passport import IN_A_GARDEN

_ALPHA_2 = {three: two for two, three in ALPHA_3.items()}
_GROWING = frozenset({IN_A_GARDEN, "30"})
# What a passport says that has a place of its own here; the rest is kept in words.
_TAKEN = frozenset(
    {"ACCENUMB", "GENUS", "SPECIES", "SPAUTHOR", "SUBTAXA", "SUBTAUTHOR", "ACCENAME", "STORAGE"}
    | {"CROPNAME", "ORIGCTY", "COLLSITE"}
)
_WILD = ("100", "110", "120", "130")


def _passport(rows: Group) -> Outcome:
    """Take in an accession: one that grows is a plant, any other a lot of seed."""
    cells = rows[0]
    found, problems = read_passport(
        {each.name: cells.raw(each.name) for each in DESCRIPTORS if cells.has(each.name)}
    )
    cells.wrong.extend(BadInput(each.message, field=each.field) for each in problems)
    cells.refuse_if_wrong()
    passport: dict[str, Any] = dict(found)
    by = cells.importing.by
    key = key_of("passport", by.number, passport.get("INSTCODE", ""), passport["ACCENUMB"])
    grows = bool(_GROWING & set(passport.get("STORAGE", ())))
    return _plant(cells, passport) if grows else _lot(cells, passport, key)


def _plant(cells: Cells, passport: dict[str, Any]) -> Outcome:
    by, label = cells.importing.by, passport["ACCENUMB"]
    if Plant.objects.filter(keeper=by, own_label=label, withdrawn_at=None).exists():
        return NOTHING_NEW
    acquired = passport.get("ACQDATE")
    collected = passport.get("COLLDATE")
    wild = _wild_facts(passport)
    plant = add_plant(
        keeper=by,
        by=by,
        at=cells.importing.at,
        name_text=_name(passport),
        own_label=label,
        taxon=_taxon(passport),
        origin=Plant.Origin.WILD if wild is not None else Plant.Origin.UNKNOWN,
        acquired_on=acquired.whole() if acquired else None,
        wild_on=collected.whole() if collected and wild is not None else None,
        fertility_notes=_rest(passport),
        **(wild or {}),
    )
    return made(plant)


def _lot(cells: Cells, passport: dict[str, Any], key: Any) -> Outcome:
    by = cells.importing.by
    known = Lot.objects.filter(client_key=key).first()
    if known is not None:
        refuse_withdrawn_row(known, "lot", "ACCENUMB")
        return NOTHING_NEW
    day: PartialDate | None = passport.get("COLLDATE") or passport.get("ACQDATE")
    if day is None:
        raise BadInput(
            "Seed needs a year: when was it collected, or when did it come?", field="ACQDATE"
        )
    wild = _wild_facts(passport)
    lot = add_lot(
        raised_by=by,
        owner=by,
        by=by,
        at=cells.importing.at,
        client_key=key,
        name_text=_name(passport),
        year=day.year,
        origin=Lot.Origin.WILD if wild is not None else Lot.Origin.UNKNOWN,
        taxon=_taxon(passport),
        collected_on=_whole(passport.get("COLLDATE")),
        note=_rest(passport),
        **(wild or {}),
    )
    return made(lot)


def _whole(day: PartialDate | None) -> datetime.date | None:
    return day.whole() if day else None


def _wild_facts(passport: dict[str, Any]) -> dict[str, str] | None:
    """Return where it was collected, if it was collected in the wild."""
    if passport.get("SAMPSTAT") not in _WILD:
        return None
    return {
        "wild_where": passport.get("COLLSITE", "")[:200],
        "wild_country": _ALPHA_2.get(passport.get("ORIGCTY", ""), ""),
    }


def _name(passport: dict[str, Any]) -> str:
    names = passport.get("ACCENAME")
    if names:
        return str(names[0])
    parts = [passport.get(field, "") for field in ("GENUS", "SPECIES", "SUBTAXA")]
    name = " ".join(part for part in parts if part)
    if not name:
        raise BadInput("Without a name of the accession its genus is needed.", field="GENUS")
    return name


def _taxon(passport: dict[str, Any]) -> Taxon | None:
    """Return the society's taxon of that name, if it has one."""
    rank, _, epithet = passport.get("SUBTAXA", "").partition(" ")
    species = passport.get("SPECIES", "").removeprefix("sp.")
    return Taxon.objects.filter(
        genus=passport.get("GENUS", ""),
        species=species.lstrip("× "),
        is_hybrid=species.startswith("×"),
        infraspecific_rank=rank,
        infraspecific_epithet=epithet,
    ).first()


def _rest(passport: dict[str, Any]) -> str:
    """Keep what has no place of its own in words, a line a field, so that nothing is lost."""
    lines = []
    for each in DESCRIPTORS:
        value = passport.get(each.name)
        is_whole_day = isinstance(value, PartialDate) and value.whole() is not None
        if value is None or each.name in _TAKEN or is_whole_day:
            continue
        text = "; ".join(value) if isinstance(value, tuple) else str(value)
        lines.append(f"{each.name}: {text}")
    names = passport.get("ACCENAME", ())[1:]
    lines += [f"ACCENAME: {name}" for name in names]
    return "\n".join(lines)


PASSPORTS = Kind(
    name="passports",
    title="Passport data (MCPD V2.1)",
    columns=tuple(
        Column(
            each.name,
            required=each.name == "ACCENUMB",
            help=f"{each.number}: {each.meaning}."
            + (" Several with semicolons." if each.is_several else ""),
        )
        for each in DESCRIPTORS
    ),
    act=_passport,
    told_apart_by=("ACCENUMB", "INSTCODE"),
    brought_by=BroughtBy.MEMBER,
)
