"""Write an archive: of the whole society, or of what one member owns."""

import datetime
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.files.storage import default_storage
from django.db import connection, transaction
from django.db.migrations.recorder import MigrationRecorder
from django.db.models import FileField, Model, Q, QuerySet

from crosses.models import Taxon
from seedbank.formats.archive import ArchiveWriter
from seedbank.members.models import Member
from seedbank.transfer.archive.tables import (
    APPS,
    TableColumn,
    beside,
    columns_of,
    models_of_the_society,
    own_condition,
    own_models,
    record_name,
    written,
)

ROWS_AT_ONCE = 2000
FILES = "files"
ROLES = "members-roles"
Tell = Callable[[int, int], None]


def export_society(path: Path, *, at: datetime.datetime, tell: Tell | None = None) -> int:
    """Write every record of the society with its history, addresses too; return how many rows."""
    with transaction.atomic(), ArchiveWriter(path) as archive:
        tables = [(model, _records(model)) for model in models_of_the_society()]
        total = sum(records.count() for _model, records in tables)
        done = 0
        for model, records in tables:
            done = _add(archive, model, columns_of(model), records, done, total, tell)
            _add_files(archive, model, records)
        _add_roles(archive)
        archive.end(
            {
                "scope": "society",
                "society": settings.SOCIETY_NAME,
                "made_at": at.isoformat(),
                "migrations": migrations_here(),
            }
        )
    return done


def export_own(path: Path, *, member: Member, at: datetime.datetime) -> int:
    """Write what a member owns; other members are not named in it, and have no address."""
    done = 0
    with transaction.atomic(), ArchiveWriter(path) as archive:
        for model in own_models():
            records = _records(model).filter(own_condition(model._meta.label, member))  # noqa: SLF001
            columns = [*columns_of(model), *beside(model)]
            done = _add(archive, model, columns, records.distinct(), done, 0, None, member)
            _add_files(archive, model, records)
        # The society's list of taxa is every member's to read, and plants name it.
        done = _add(archive, Taxon, columns_of(Taxon), _records(Taxon), done, 0, None)
        archive.end(
            {
                "scope": "member",
                "member": member.number,
                "society": settings.SOCIETY_NAME,
                "made_at": at.isoformat(),
            }
        )
    return done


def migrations_here() -> dict[str, str]:
    """Return the last migration of each app: the shape of the records."""
    applied = MigrationRecorder(connection).applied_migrations()
    return {app: max(name for label, name in applied if label == app) for app in APPS}


def _records(model: type[Model]) -> QuerySet[Any]:
    return model._default_manager.order_by("pk")  # noqa: SLF001


def _add(
    archive: ArchiveWriter,
    model: type[Model],
    columns: Sequence[TableColumn],
    records: QuerySet[Any],
    done: int,
    total: int,
    tell: Tell | None,
    own: Member | None = None,
) -> int:
    written_rows = 0

    def told(many: int) -> None:
        nonlocal written_rows
        written_rows = many
        if tell:
            tell(done + many, total)

    rows = _rows(records, columns, own)
    archive.add_table(record_name(model), [column.told for column in columns], rows, told)
    return done + written_rows


def _rows(
    records: QuerySet[Any], columns: Sequence[TableColumn], own: Member | None
) -> Iterator[list[str]]:
    """Write the rows of a table; in a member's own archive no other member is named."""
    names_members = [column.refers_to == "members-member.number" for column in columns]
    values = records.values_list(*(column.path for column in columns))
    for row in values.iterator(chunk_size=ROWS_AT_ONCE):
        yield [
            ""
            if own is not None and names_member and value != own.number
            else written(value, column.field)
            for value, column, names_member in zip(row, columns, names_members, strict=True)
        ]


def _add_roles(archive: ArchiveWriter) -> None:
    rows = Member.objects.filter(groups__isnull=False).order_by("number", "groups__name")
    archive.add_table(
        ROLES,
        [{"name": "member", "refers_to": "members-member.number"}, {"name": "role"}],
        ([number, role] for number, role in rows.values_list("number", "groups__name")),
        lambda many: None,
    )


def _add_files(archive: ArchiveWriter, model: type[Model], records: QuerySet[Any]) -> None:
    """Add the pictures that records name, under the names by which they do."""
    for field in model._meta.concrete_fields:  # noqa: SLF001
        if not isinstance(field, FileField):
            continue
        named = records.exclude(Q(**{field.name: ""}))
        for name in named.values_list(field.name, flat=True):
            if default_storage.exists(name):
                with default_storage.open(name) as file:
                    archive.add_file(f"{FILES}/{name}", file.read())
