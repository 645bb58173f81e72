"""A group's materials with their figures, ready to compute with."""

from __future__ import annotations

from collections import defaultdict

from apps.feedstock.core.materials import QUANTITIES
from apps.feedstock.core.materials import Material as KnownMaterial
from apps.feedstock.models import Figure, Material
from apps.groups.models import Group
from apps.kernel.figures import Figure as KnownFigure


def known_materials(group: Group) -> dict[str, KnownMaterial]:
    """By code, every material of the group, retired ones included: two queries."""
    figures: dict[int, dict[str, KnownFigure]] = defaultdict(dict)
    for figure in Figure.objects.of(group):
        if figure.quantity in QUANTITIES:
            figures[figure.material_id][figure.quantity] = _figure(figure)
    return {
        material.code: KnownMaterial(
            code=material.code,
            name=material.name,
            figures=figures[material.pk],
            risk_groups=tuple(material.share_groups),
            holding=material.holding,
            buffers=material.buffers,
            cautions=material.cautions,
        )
        for material in Material.objects.of(group).order_by("code")
    }


def _figure(figure: Figure) -> KnownFigure:
    return KnownFigure(
        value=float(figure.value),
        unit=figure.unit,
        source=figure.source,
        evidence=figure.evidence,
        low=None if figure.low is None else float(figure.low),
        high=None if figure.high is None else float(figure.high),
    )
