"""The database refuses every link into another group, whatever the code above it does."""

from __future__ import annotations

import pytest
from django.db import IntegrityError, connection, models, transaction

from apps.groups.models import SameGroup, scoped_models
from apps.groups.queries.cross_links import count_cross_links
from apps.ledger.models.guards import GUARDED
from apps.places.models import Place
from apps.supply.models import Source
from tests.cast import Cast


def links() -> list[tuple[type[models.Model], str]]:
    return [
        (model, constraint.field)
        for model in scoped_models()
        for constraint in model._meta.constraints
        if isinstance(constraint, SameGroup)
    ]


def change(model: type[models.Model], pk: int, **values: object) -> None:
    """Change a row behind the operations' back, and let the database look at once."""
    model.unscoped.filter(pk=pk).update(**values)
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
    connection.check_constraints([model._meta.db_table])


def composite_keys(table: str) -> set[tuple[str, str, str]]:
    """(column, target table, target column) of each key that goes with `group_id`."""
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(
                "SELECT a.attname, c.confrelid::regclass::text, t.attname FROM pg_constraint c "
                "JOIN pg_attribute a ON a.attrelid = c.conrelid AND a.attnum = c.conkey[2] "
                "JOIN pg_attribute t ON t.attrelid = c.confrelid AND t.attnum = c.confkey[2] "
                "WHERE c.contype = 'f' AND c.conrelid = %s::regclass",
                [table],
            )
            return set(cursor.fetchall())
        cursor.execute(f"PRAGMA foreign_key_list({table})")
        # id, seq, table, from, to: the second column of a composite key has seq 1.
        return {(row[3], row[2], row[4]) for row in cursor.fetchall() if row[1] == 1}


def test_every_link_has_its_composite_key_in_the_database(db: None) -> None:
    for model, field in links():
        link = model._meta.get_field(field)
        target = link.remote_field.model._meta.db_table
        assert (link.column, target, "id") in composite_keys(model._meta.db_table), (model, field)


def test_rows_with_links_cannot_move_to_another_group(cast: Cast) -> None:
    """Each row that links to another is moved to the other group, leaving its target behind."""
    tried = 0
    for model, field in links():
        row = model.unscoped.filter(group=cast.group, **{f"{field}__isnull": False}).first()
        if row is None or model in GUARDED:
            continue
        with pytest.raises(IntegrityError), transaction.atomic():
            change(model, row.pk, group=cast.other_group)
        tried += 1
    assert tried >= 15


def test_no_link_of_the_cast_crosses(cast: Cast) -> None:
    counts = count_cross_links()
    assert len(counts) == len(links())
    assert sum(counts.values()) == 0


def test_a_link_to_another_groups_row_is_refused(cast: Cast) -> None:
    foreign = Place.unscoped.create(
        group=cast.other_group, code="x", name="X", latitude="1", longitude="1"
    )
    with pytest.raises(IntegrityError), transaction.atomic():
        change(Source, cast.ines_garden.pk, place=foreign)
