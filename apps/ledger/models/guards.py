"""Triggers by which the database itself refuses to change or delete what was posted.

Installed after every migrate, because SQLite drops a table's triggers when it rebuilds the
table. They are lifted in one place only: when a test run empties its own database.
"""

from __future__ import annotations

from typing import Any

from django.db import DEFAULT_DB_ALIAS, connections
from django.db.backends.base.base import BaseDatabaseWrapper

from apps.ledger.models.posting import Liquid, Movement, Posting

GUARDED = (Posting, Movement, Liquid)

REFUSAL = "The ledger is append only: reverse the posting and record it anew."

_POSTGRESQL_FUNCTION = f"""
CREATE OR REPLACE FUNCTION ledger_refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN RAISE EXCEPTION '{REFUSAL}' USING ERRCODE = 'integrity_constraint_violation'; END $$
"""


def guard_after_migrate(using: str = DEFAULT_DB_ALIAS, **_signal: Any) -> None:
    """Receiver of `post_migrate`."""
    guard_history(using)


def guard_history(using: str = DEFAULT_DB_ALIAS) -> None:
    """Install the triggers on every guarded table that exists; doing so again harms nothing."""
    connection = connections[using]
    tables = _existing(connection)
    lift(connection, tables)
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(_POSTGRESQL_FUNCTION)
        for table in tables:
            for statement in _statements(connection.vendor, table):
                cursor.execute(statement)


def lift_guards_to_empty_test_database(using: str = DEFAULT_DB_ALIAS) -> None:
    """For the teardown of tests alone; the flush that follows installs the triggers again."""
    connection = connections[using]
    lift(connection, _existing(connection))


def lift(connection: BaseDatabaseWrapper, tables: list[str]) -> None:
    """Drop the triggers of `tables`."""
    on = " ON {0}" if connection.vendor == "postgresql" else ""
    with connection.cursor() as cursor:
        for table in tables:
            for event in ("update", "delete", "truncate"):
                cursor.execute(f"DROP TRIGGER IF EXISTS {table}_no_{event}" + on.format(table))


def _statements(vendor: str, table: str) -> list[str]:
    if vendor == "postgresql":
        return [
            f"CREATE TRIGGER {table}_no_{event} BEFORE {event} ON {table} "
            f"FOR EACH {level} EXECUTE FUNCTION ledger_refuse_change()"
            for event, level in (("update", "ROW"), ("delete", "ROW"), ("truncate", "STATEMENT"))
        ]
    return [
        f"CREATE TRIGGER {table}_no_{event} BEFORE {event} ON {table} "
        f"BEGIN SELECT RAISE(ABORT, '{REFUSAL}'); END"
        for event in ("update", "delete")
    ]


def _existing(connection: BaseDatabaseWrapper) -> list[str]:
    there = set(connection.introspection.table_names())
    return [model._meta.db_table for model in GUARDED if model._meta.db_table in there]
