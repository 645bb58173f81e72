"""Take the published table's materials into a group, each figure with source and evidence."""

from __future__ import annotations

from decimal import Decimal

from django.db import transaction

from apps.feedstock.core.published import read_published
from apps.feedstock.models import Figure, Material
from apps.groups.models import Group


@transaction.atomic
def adopt_published_materials(group: Group) -> int:
    """Add what the group does not have yet and return how many; what it has stays as it is."""
    there = set(Material.objects.of(group).values_list("code", flat=True))
    published = {code: known for code, known in read_published().items() if code not in there}
    rows = Material.unscoped.bulk_create(
        Material(
            group=group,
            code=known.code,
            name=known.name,
            published_id=known.code,
            share_groups=list(known.risk_groups),
            holding=known.holding,
            buffers=known.buffers,
            cautions=known.cautions,
        )
        for known in published.values()
    )
    Figure.unscoped.bulk_create(
        Figure(
            group=group,
            material=row,
            quantity=quantity,
            value=exact(figure.value),
            low=None if figure.low is None else exact(figure.low),
            high=None if figure.high is None else exact(figure.high),
            unit=figure.unit,
            source=figure.source,
            evidence=figure.evidence,
        )
        for row in rows
        for quantity, figure in sorted(published[row.code].figures.items())
    )
    return len(rows)


def exact(value: float) -> Decimal:
    """The decimal that the table prints, not the float's neighbour."""
    return Decimal(repr(value))
