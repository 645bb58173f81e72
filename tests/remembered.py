"""What many tests start from is made once in a process and put back row by row afterwards.

A builder may be remembered when the same arguments always save the same rows, but for the time of
day. Each test gets its own copy of what the builder returned. One that adds to what another has
saved may be remembered too: the same rows below it always have the same keys.
"""

from __future__ import annotations

import copy
import functools
from collections.abc import Callable
from datetime import date
from typing import Any, ParamSpec, TypeVar

from django.apps import apps
from django.db import connection, transaction

P = ParamSpec("P")
R = TypeVar("R")

Rows = dict[str, list[Any]]
"""By table, as the database tells them."""

NOT_OURS = {"contenttypes", "auth"}
"""Their tables are filled by migrating."""


def remembered(build: Callable[P, R]) -> Callable[P, R]:
    """A builder that works once for the same arguments (which can be hashed) on one day of the
    clock; afterwards its rows are put back, into tables that are as empty as they were."""
    memory: dict[Any, tuple[Rows, R]] = {}

    @functools.wraps(build)
    def remembering(*args: P.args, **named: P.kwargs) -> R:
        key = (date.today(), args, tuple(sorted(named.items())))
        if key not in memory:
            before = read_rows()
            made = build(*args, **named)
            memory[key] = (_without(read_rows(), before), made)
        else:
            put_rows(memory[key][0])
        return copy.deepcopy(memory[key][1])

    return remembering


def read_rows() -> Rows:
    """All rows of our own tables."""
    read = _copy_out if connection.vendor == "postgresql" else _select
    with connection.cursor() as cursor:
        return {table: rows for table in _columns() if (rows := read(cursor, table))}


def put_rows(rows: Rows) -> None:
    """Save them all, or none."""
    put = _copy_in if connection.vendor == "postgresql" else _insert
    with transaction.atomic(), connection.cursor() as cursor:
        for table, found in rows.items():
            put(cursor, table, found)


@functools.cache
def _columns() -> dict[str, list[str]]:
    """By table."""
    return {
        model._meta.db_table: [field.column for field in model._meta.local_concrete_fields]
        for model in apps.get_models(include_auto_created=True)
        if model._meta.managed and model._meta.app_label not in NOT_OURS
    }


def _without(rows: Rows, before: Rows) -> Rows:
    return {
        table: [row for row in found if row not in before.get(table, ())]
        for table, found in rows.items()
    }


def _copy_out(cursor: Any, table: str) -> list[Any]:
    with cursor.copy(f'COPY "{table}" TO STDOUT') as out:
        return [bytes(line) for line in out]


def _copy_in(cursor: Any, table: str, rows: list[Any]) -> None:
    with cursor.copy(f'COPY "{table}" FROM STDIN') as into:
        into.write(b"".join(rows))


def _select(cursor: Any, table: str) -> list[Any]:
    """Each value as it lies there: what is computed, if only by a plus, is not converted."""
    values = ", ".join(f'+"{name}"' for name in _columns()[table])
    cursor.execute(f'SELECT {values} FROM "{table}"')
    return list(cursor.fetchall())


def _insert(cursor: Any, table: str, rows: list[Any]) -> None:
    names = _columns()[table]
    values = ", ".join(["%s"] * len(names))
    into = ", ".join(f'"{name}"' for name in names)
    cursor.executemany(f'INSERT INTO "{table}" ({into}) VALUES ({values})', rows)
