"""Database guards that no constraint can say: rows that are written once and never changed."""

from typing import Any

from django.db.backends.base.schema import BaseDatabaseSchemaEditor


def refuse_updates(editor: BaseDatabaseSchemaEditor, table: str, message: str) -> None:
    """Make the database refuse every UPDATE of a table, whoever sends it."""
    if editor.connection.vendor == "sqlite":
        editor.execute(
            f"CREATE TRIGGER {table}_no_update BEFORE UPDATE ON {table} "
            f"BEGIN SELECT RAISE(ABORT, '{message}'); END"
        )
        return
    # ERRCODE 23000 makes it an integrity error, as on SQLite.
    editor.execute(
        f"CREATE FUNCTION {table}_no_update() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN RAISE EXCEPTION '{message}' USING ERRCODE = '23000'; END $$"
    )
    editor.execute(
        f"CREATE TRIGGER {table}_no_update BEFORE UPDATE OR DELETE ON {table} "
        f"FOR EACH ROW EXECUTE FUNCTION {table}_no_update()"
    )


def allow_updates(editor: BaseDatabaseSchemaEditor, table: str) -> None:
    """Take the guard away again (a migration going backwards)."""
    on_table = "" if editor.connection.vendor == "sqlite" else f" ON {table}"
    editor.execute(f"DROP TRIGGER {table}_no_update{on_table}")
    if editor.connection.vendor != "sqlite":
        editor.execute(f"DROP FUNCTION {table}_no_update()")


def guard_operations(table: str, message: str) -> tuple[Any, Any]:
    """Return the forward and backward functions of a RunPython step."""

    def forward(apps: Any, editor: BaseDatabaseSchemaEditor) -> None:
        refuse_updates(editor, table, message)

    def backward(apps: Any, editor: BaseDatabaseSchemaEditor) -> None:
        allow_updates(editor, table)

    return forward, backward
