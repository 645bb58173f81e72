"""Tables that belong to a group, and the key that keeps them from crossing into another.

`objects` can only be used through `of(group)`; `unscoped` is for migrations, the framework's
own machinery and the few jobs that serve every group. A foreign key between two such tables
comes with a `SameGroup` constraint, so that the database itself refuses a link across groups.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from typing import Any

from django.apps import apps
from django.core import checks
from django.core.exceptions import ValidationError
from django.db import models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.models.constraints import BaseConstraint

from apps.groups.models.group import Group


class GroupObjects:
    """Descriptor: `Model.objects.of(group)` is the way to rows of a group-scoped table."""

    def __init__(self, model: type[models.Model] | None = None) -> None:
        self.model = model

    def __get__(self, instance: object, owner: type[models.Model]) -> GroupObjects:
        return GroupObjects(owner)

    def of(self, group: Group) -> models.QuerySet[Any]:
        """Rows of one group."""
        return self.model.unscoped.filter(group=group)  # type: ignore[union-attr]


class SameGroup(BaseConstraint):
    """Composite foreign key (group, `field`) to (group, id) of the field's own target."""

    def __init__(self, *, field: str, name: str) -> None:
        super().__init__(name=name)
        self.field = field

    def _clause(self, model: type[models.Model], schema_editor: BaseDatabaseSchemaEditor) -> str:
        quote = schema_editor.quote_name
        link = model._meta.get_field(self.field)
        target = link.remote_field.model
        return (
            f"CONSTRAINT {quote(self.name)} FOREIGN KEY "
            f"({quote('group_id')}, {quote(link.column)}) REFERENCES "
            f"{quote(target._meta.db_table)} ({quote('group_id')}, {quote('id')}) "
            "DEFERRABLE INITIALLY DEFERRED"
        )

    def constraint_sql(
        self, model: type[models.Model], schema_editor: BaseDatabaseSchemaEditor
    ) -> str | None:
        """Inside CREATE TABLE on SQLite, which cannot add one later; after all tables elsewhere."""
        if schema_editor.connection.vendor == "sqlite":
            return self._clause(model, schema_editor)
        self.create_sql(model, schema_editor)
        return None

    def create_sql(
        self, model: type[models.Model], schema_editor: BaseDatabaseSchemaEditor
    ) -> None:
        """Add at the end of the migration, when the target's own unique key surely exists."""
        table = schema_editor.quote_name(model._meta.db_table)
        schema_editor.deferred_sql.append(
            f"ALTER TABLE {table} ADD {self._clause(model, schema_editor)}"
        )

    def remove_sql(self, model: type[models.Model], schema_editor: BaseDatabaseSchemaEditor) -> str:
        """Drop it."""
        quote = schema_editor.quote_name
        return f"ALTER TABLE {quote(model._meta.db_table)} DROP CONSTRAINT {quote(self.name)}"

    def validate(
        self,
        model: type[models.Model],
        instance: Any,
        exclude: Iterable[str] | None = None,
        using: str = "default",
    ) -> None:
        """Say so before the database does."""
        linked = getattr(instance, self.field, None)
        if linked is not None and linked.group_id != instance.group_id:
            raise ValidationError(f"{self.field} belongs to another group.")

    def deconstruct(self) -> tuple[str, tuple[()], dict[str, Any]]:
        """For migrations."""
        return (
            f"{type(self).__module__}.{type(self).__qualname__}",
            (),
            {"name": self.name, "field": self.field},
        )

    def __eq__(self, other: object) -> bool:
        if isinstance(other, SameGroup):
            return (self.name, self.field) == (other.name, other.field)
        return NotImplemented

    def __hash__(self) -> int:
        return hash((self.name, self.field))


def same_group(*fields: str) -> list[SameGroup]:
    """One `SameGroup` for each named foreign key."""
    return [
        SameGroup(field=field, name=f"%(app_label)s_%(class)s_{field}_same_group")
        for field in fields
    ]


class GroupScoped(models.Model):
    """Base of every table that belongs to a group: bigint inside, UUID outside."""

    group = models.ForeignKey(Group, on_delete=models.PROTECT, related_name="+")
    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)

    unscoped = models.Manager()
    objects = GroupObjects()

    class Meta:
        abstract = True
        constraints = [
            models.UniqueConstraint(
                fields=["group", "id"], name="%(app_label)s_%(class)s_group_id"
            ),
        ]

    @classmethod
    def check(cls, **kwargs: Any) -> list[checks.CheckMessage]:
        """Refuse a link between scoped tables that lacks its `SameGroup`."""
        kept = {c.field for c in cls._meta.constraints if isinstance(c, SameGroup)}
        loose = [
            field.name
            for field in cls._meta.local_fields
            if field.is_relation
            and field.name not in kept
            and isinstance(field.remote_field.model, type)
            and issubclass(field.remote_field.model, GroupScoped)
        ]
        return super().check(**kwargs) + [
            checks.Error(
                f"{cls._meta.label}.{name} may cross groups; add same_group({name!r}).",
                obj=cls,
                id="groups.E001",
            )
            for name in loose
        ]


class Coded(GroupScoped):
    """A scoped table whose rows people know by a short code; ordering goes by it."""

    code = models.SlugField(max_length=40)

    class Meta(GroupScoped.Meta):
        abstract = True
        ordering = ["code"]
        constraints = [
            *GroupScoped.Meta.constraints,
            models.UniqueConstraint(fields=["group", "code"], name="%(app_label)s_%(class)s_code"),
        ]

    def __str__(self) -> str:
        return self.code


def scoped_models() -> list[type[GroupScoped]]:
    """Every concrete table that belongs to a group."""
    return [model for model in apps.get_models() if issubclass(model, GroupScoped)]
