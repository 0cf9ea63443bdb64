"""Which records an archive holds, in which columns, and which of them are a member's own."""

import datetime
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.apps import apps
from django.core.serializers.json import DjangoJSONEncoder
from django.db.models import BooleanField, Field, JSONField, Model, Q

from seedbank.formats.archive import protected, unprotected
from seedbank.members.models import Member

APPS = ("crosses", "members", "bank", "sowings", "exchange")
# What is of this installation and not of the society: keys and counters of the API, mails that
# wait, the secret address of a calendar.
NOT_THE_SOCIETYS = frozenset(
    {
        "crosses.SentForm",
        "members.ApiToken",
        "members.CalendarAddress",
        "members.DailyMail",
        "members.KeptAnswer",
        "members.Tally",
        "members.UnsentMail",
    }
)
# A password does not travel, not even as a digest: members choose a new one.
LEFT_OUT = frozenset({"password"})
# What a record that is pointed to is called in a file.
_NAMED_BY = {"members.Household": "name", "exchange.Round": "slug"}

# Which records are a member's own, by the path to the member.
_OWN: Mapping[str, Sequence[str]] = {
    "members.Member": ("pk",),
    "members.Address": ("member",),
    "crosses.Plant": ("keeper",),
    "crosses.Cross": ("grower",),
    "crosses.OwnNumberLetter": ("grower",),
    "crosses.PollenShare": ("cross__grower",),
    "crosses.Pollination": ("cross__grower",),
    "crosses.TouchUp": ("pollination__cross__grower",),
    "crosses.Check": ("pollination__cross__grower",),
    "crosses.CheckPhoto": ("look__pollination__cross__grower",),
    "crosses.Harvest": ("cross__grower",),
    "crosses.HarvestedPollination": ("harvest__cross__grower",),
    "crosses.SeedSample": ("harvest__cross__grower",),
    "bank.Place": ("owner",),
    "bank.Lot": ("owner", "raised_by"),
    "bank.Packet": ("holder", "lot__owner"),
    "bank.Movement": ("packet__holder", "packet__lot__owner"),
    "bank.Donation": ("donor",),
    "bank.DonationLine": ("donation__donor",),
    "sowings.Sowing": ("grower",),
    "sowings.Pretreatment": ("sowing__grower",),
    "sowings.Replicate": ("sowing__grower",),
    "sowings.Count": ("replicate__sowing__grower",),
    "sowings.Seedling": ("sowing__grower",),
    "exchange.WishList": ("member",),
    "exchange.Wish": ("wish_list__member",),
}
# What a wish is for is said beside it, as the list itself is not the member's.
_TOLD_BESIDE = {
    "exchange.Wish": {
        "round": "wish_list__round__slug",
        "line_number": "line__line_number",
        "lot": "line__lot__number",
        "name": "line__lot__name_text",
    },
    "exchange.WishList": {"round": "round__slug"},
    "crosses.Plant": {"taxon_name": "taxon__genus"},
}


@dataclass(frozen=True)
class TableColumn:
    """A column of a file: where its value comes from, and what it is."""

    name: str
    path: str
    field: "Field[Any, Any] | None"
    refers_to: str = ""

    @property
    def told(self) -> dict[str, str]:
        facts = {"name": self.name}
        if self.field is not None:
            facts["type"] = self.field.get_internal_type()
        if self.refers_to:
            facts["refers_to"] = self.refers_to
        return facts


def models_of_the_society() -> list[type[Model]]:
    return [
        model
        for app in APPS
        for model in apps.get_app_config(app).get_models()
        if model._meta.label not in NOT_THE_SOCIETYS  # noqa: SLF001
    ]


def own_models() -> list[type[Model]]:
    return [apps.get_model(label) for label in _OWN]


def own_condition(label: str, member: Member) -> Q:
    condition = Q()
    for path in _OWN[label]:
        condition |= Q(**{path: member.pk if path == "pk" else member})
    return condition


def record_name(model: type[Model]) -> str:
    return model._meta.label.replace(".", "-").lower()  # noqa: SLF001


def is_history(model: type[Model]) -> bool:
    return hasattr(model, "history_id")


def columns_of(model: type[Model]) -> list[TableColumn]:
    """Return the columns of a file: every field; a record that is pointed to by what it is called.

    History keeps the keys it was written with: what they point to may be gone.
    """
    columns = []
    for field in model._meta.concrete_fields:  # noqa: SLF001
        if field.name in LEFT_OUT:
            continue
        if not field.is_relation or is_history(model):
            columns.append(TableColumn(field.attname, field.attname, field))
            continue
        target: Any = field.related_model
        name = natural_name(target)
        columns.append(
            TableColumn(field.name, f"{field.name}__{name}", field, f"{record_name(target)}.{name}")
        )
    return columns


def natural_name(model: type[Model]) -> str:
    """Return the field by which files name a record of a model: its number, if it has one."""
    label = model._meta.label  # noqa: SLF001
    names = {field.name for field in model._meta.concrete_fields}  # noqa: SLF001
    return _NAMED_BY.get(label) or ("number" if "number" in names else "id")


def beside(model: type[Model]) -> list[TableColumn]:
    told = _TOLD_BESIDE.get(model._meta.label, {})  # noqa: SLF001
    return [TableColumn(name, path, None) for name, path in told.items()]


def written(value: Any, field: "Field[Any, Any] | None") -> str:
    """Write a value as the text of a cell; nothing is an empty cell."""
    if isinstance(field, JSONField):
        return DjangoJSONEncoder(sort_keys=True, ensure_ascii=False).encode(value)
    match value:
        case None:
            text = ""
        case bool():
            text = "true" if value else "false"
        case datetime.datetime():
            text = value.astimezone(datetime.UTC).isoformat()
        case str():
            text = protected(value)
        case _:
            # Dates, decimals and keys say themselves; a number said whole comes back the same.
            text = str(value)
    return text


def read(text: str, field: "Field[Any, Any]") -> Any:
    """Read a cell back as the value of its field."""
    if isinstance(field, JSONField):
        return json.loads(text)
    if text == "":
        # Text that may be nothing is nothing where it is empty; other text is empty.
        return None if field.null else ""
    if isinstance(field, BooleanField):
        return text == "true"
    return field.to_python(unprotected(text))
