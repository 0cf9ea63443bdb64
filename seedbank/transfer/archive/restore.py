"""Read the archive of a whole society into an empty database, to an equal one."""

from collections.abc import Callable, Mapping
from itertools import islice
from pathlib import Path
from typing import Any

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.management.color import no_style
from django.db import connection, transaction
from django.db.models import Model

from crosses.base.refusal import Refused
from crosses.calc.errors import BadInput
from seedbank.formats.archive import ArchiveReader, unprotected
from seedbank.members.actions.roles import Role, group_of
from seedbank.members.models import Member
from seedbank.transfer.archive.export import FILES, ROLES, migrations_here
from seedbank.transfer.archive.tables import (
    TableColumn,
    columns_of,
    is_history,
    models_of_the_society,
    natural_name,
    read,
    record_name,
)

ROWS_AT_ONCE = 500
Say = Callable[[str], None]
Keys = Mapping[str, Mapping[str, Any]]


@transaction.atomic
def restore_society(path: Path, *, say: Say) -> int:
    """Bring the archive of a society in: all of it or nothing; return how many records."""
    if Member.objects.exists():
        raise Refused(
            "not-empty", "This database holds a society already; an archive needs an empty one."
        )
    with ArchiveReader(path) as archive:
        _refuse_other_shape(archive.manifest)
        models = models_of_the_society()
        keys = {record_name(model): _keys(archive, model) for model in models}
        # What a new database begins with is in the archive too, as the society has it now. The
        # history goes last, as it tells of the deleting.
        for model in sorted(models, key=is_history):
            model._default_manager.all().delete()  # noqa: SLF001
        many = 0
        for model in models:
            many += _load(archive, model, keys)
            say(f"{record_name(model)}: {archive.tables[record_name(model)]['rows']}")
        _load_roles(archive)
        for name, data in archive.files(FILES):
            default_storage.save(name, ContentFile(data))
    _count_on(models)
    return many


def _refuse_other_shape(manifest: Mapping[str, Any]) -> None:
    if manifest.get("scope") != "society":
        raise BadInput("This is the archive of one member, not of a society.")
    if manifest.get("migrations") != migrations_here():
        raise BadInput(
            "This archive was written by another release. Install that one, bring the archive in,"
            " and then go on to this release."
        )


def _keys(archive: ArchiveReader, model: type[Model]) -> dict[str, Any]:
    """Return the key of each record by what files call it: they may name what is still to come."""
    name = natural_name(model)
    if name == "id":
        return {}
    return {unprotected(row[name]): int(row["id"]) for row in archive.rows(record_name(model))}


def _load(archive: ArchiveReader, model: type[Model], keys: Keys) -> int:
    columns = {column.name: column for column in columns_of(model)}
    many = 0
    left = archive.rows(record_name(model))
    while rows := list(islice(left, ROWS_AT_ONCE)):
        records = []
        for row in rows:
            record = model()
            for name, text in row.items():
                column = columns[name]
                setattr(record, column.field.attname, _value(column, text, keys))  # type: ignore[union-attr]
            if isinstance(record, Member):
                record.set_unusable_password()
            records.append(record)
        model._default_manager.bulk_create(records, batch_size=200)  # noqa: SLF001
        many += len(records)
    return many


def _value(column: TableColumn, text: str, keys: Keys) -> Any:
    if column.field is None:
        return None
    if not column.refers_to:
        return read(text, column.field)
    if not text:
        return None
    record, _, name = column.refers_to.partition(".")
    return int(text) if name == "id" else keys[record][unprotected(text)]


def _load_roles(archive: ArchiveReader) -> None:
    roles = {role.label: role for role in Role}
    for row in archive.rows(ROLES):
        if row["role"] in roles:
            member = Member.objects.get(number=row["member"])
            member.groups.add(group_of(roles[row["role"]]))


def _count_on(models: list[type[Model]]) -> None:
    """Let the database count on from the highest key that came in."""
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), models):
            cursor.execute(statement)
