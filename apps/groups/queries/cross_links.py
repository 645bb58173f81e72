"""Links between rows of different groups: there must be none."""

from __future__ import annotations

from django.db.models import F

from apps.groups.models import SameGroup, scoped_models


def count_cross_links() -> dict[str, int]:
    """Rows whose linked row belongs to another group, by table and field; every link of every
    group-scoped table is counted. The database refuses such rows, so each count should be 0."""
    counts: dict[str, int] = {}
    for model in scoped_models():
        for constraint in model._meta.constraints:
            if isinstance(constraint, SameGroup):
                field = constraint.field
                strays = model.unscoped.filter(**{f"{field}__isnull": False}).exclude(
                    **{f"{field}__group": F("group")}
                )
                counts[f"{model._meta.label}.{field}"] = strays.count()
    return counts
