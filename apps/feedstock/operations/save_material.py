"""Keep a material that the group measured itself."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction

from apps.feedstock.core.materials import QUANTITIES
from apps.feedstock.core.materials import Material as KnownMaterial
from apps.feedstock.core.risk_groups import RISK_GROUPS
from apps.feedstock.models import Evidence, Figure, Material
from apps.groups.models import Group
from apps.groups.operations.save_row import check_row
from apps.kernel.errors import Refused
from apps.kernel.figures import Figure as KnownFigure
from apps.kernel.figures import FigureError
from apps.kernel.words import gettext_noop


class UnbelievableMaterial(Refused):
    """The figures cannot be true together, or one of them alone."""

    code = "unbelievable_material"


@dataclass(frozen=True, slots=True)
class Given:
    """A measured figure in the unit of its quantity (`QUANTITIES`), and who measured it how."""

    value: Decimal
    source: str


@transaction.atomic
def save_material(
    group: Group,
    *,
    code: str,
    name: str,
    figures: Mapping[str, Given],
    share_groups: Iterable[str] = (),
    holding: str = "wet",
    buffers: bool = False,
    cautions: str = "",
) -> Material:
    """Make or change the group's own material `code`; its figures are replaced whole.

    Refused: a code of the published table, unknown quantities or risk groups, figures beyond
    what is believable, and a C:N with a nitrogen that imply more than 60 % carbon.
    """
    groups = sorted(set(share_groups))
    check_material(code, name, figures, groups, holding)
    material = Material.objects.of(group).select_for_update().filter(code=code).first() or Material(
        group=group, code=code
    )
    if material.published_id:
        raise UnbelievableMaterial(
            gettext_noop(
                "%(code)s is a material of the published table and stays as published. "
                "Measure your own under another code."
            ),
            field="code",
            figures={"code": code},
        )
    material.name = name
    material.share_groups = groups
    material.holding = holding
    material.buffers = buffers
    material.cautions = cautions
    check_row(material)
    material.save()
    Figure.objects.of(group).filter(material=material).delete()
    Figure.unscoped.bulk_create(
        Figure(
            group=group,
            material=material,
            quantity=quantity,
            value=given.value,
            unit=QUANTITIES[quantity][0],
            source=given.source,
            evidence=Evidence.MEASURED,
        )
        for quantity, given in sorted(figures.items())
    )
    return material


def check_material(
    code: str,
    name: str,
    figures: Mapping[str, Given],
    share_groups: Iterable[str],
    holding: str,
) -> None:
    """Refuse figures that cannot be; nothing is read or written."""
    unknown = [each for each in share_groups if each not in RISK_GROUPS]
    if unknown:
        raise UnbelievableMaterial(
            gettext_noop("%(group)s is not a risk group. Use one of: %(known)s."),
            field="share_groups",
            figures={"group": unknown[0], "known": ", ".join(RISK_GROUPS)},
        )
    for quantity in figures:
        if quantity not in QUANTITIES:
            raise UnbelievableMaterial(
                gettext_noop("%(quantity)s is not a figure of a material. Use one of: %(known)s."),
                field=quantity,
                figures={"quantity": quantity, "known": ", ".join(QUANTITIES)},
            )
    try:
        KnownMaterial(
            code=code,
            name=name,
            figures={
                quantity: KnownFigure(
                    float(given.value), QUANTITIES[quantity][0], given.source, Evidence.MEASURED
                )
                for quantity, given in figures.items()
            },
            risk_groups=tuple(share_groups),
            holding=holding,
        )
    except FigureError as error:
        raise UnbelievableMaterial(
            gettext_noop("%(reason)s"), field="figures", figures={"reason": str(error)}
        ) from error
