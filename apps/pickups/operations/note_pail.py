"""Number pails, and note where they are, that they were washed, exchanged, missed or found."""

from __future__ import annotations

from datetime import date, datetime

from django.db import transaction
from django.utils.translation import gettext_lazy as _

from apps.digesters.models import Digester
from apps.groups.models import Group
from apps.groups.operations.save_row import check_row
from apps.kernel.days import local_date
from apps.kernel.errors import Refused
from apps.people.models import Member
from apps.pickups.core.weights import Gross, Net, net
from apps.pickups.models import Pail, PailEvent, PailStep
from apps.supply.models import Source


class PailRefused(Refused):
    """The pail cannot be so, or what was weighed cannot have been in it."""

    code = "pail_refused"


@transaction.atomic
def save_pail(
    group: Group,
    *,
    code: str,
    tare_g: int,
    volume_ml: int = 10_000,
    has_lid: bool = True,
    owner: Member | None = None,
) -> Pail:
    """Make or change the pail that carries this number."""
    pail = Pail.objects.of(group).filter(code=code).first() or Pail(group=group, code=code)
    pail.tare_g, pail.volume_ml = tare_g, volume_ml
    pail.has_lid, pail.owner = has_lid, owner
    check_row(pail)
    pail.save()
    return pail


@transaction.atomic
def note_pail(
    pail: Pail,
    step: PailStep,
    *,
    now: datetime,
    noted_by: Member | None = None,
    on: date | None = None,
    source: Source | None = None,
    digester: Digester | None = None,
    exchanged_for: Pail | None = None,
) -> Pail:
    """One thing noted. BROUGHT names where it stands now; EXCHANGED swaps its place with a clean
    one; MISSING lists it until FOUND."""
    today = local_date(now, pail.group.time_zone)
    on = on or today
    if on > today:
        raise PailRefused(
            _("%(on)s has not come yet. Say what has happened."), field="on", figures={"on": on}
        )
    row: Pail = Pail.objects.of(pail.group).select_for_update(of=("self",)).get(pk=pail.pk)
    if source is not None and digester is not None:
        raise PailRefused(_("A pail stands at one place. Name the source or the digester."))
    if step == PailStep.EXCHANGED:
        _exchange(row, exchanged_for, on)
    elif step in (PailStep.BROUGHT, PailStep.FOUND):
        row.at_source, row.at_digester = source, digester
        row.is_missing = False
        row.seen_on = on
    elif step == PailStep.WASHED:
        row.washed_on = row.seen_on = on
    elif step == PailStep.MISSING:
        row.is_missing = True
    else:
        row.is_retired = True
    row.save()
    PailEvent.unscoped.create(
        group=row.group,
        pail=row,
        step=step,
        on=on,
        noted_at=now,
        noted_by=noted_by,
        exchanged_for=exchanged_for,
    )
    return row


def _exchange(pail: Pail, clean: Pail | None, on: date) -> None:
    """The clean one stays where the full one stood; the full one goes along."""
    if clean is None or clean.pk == pail.pk:
        raise PailRefused(_("Name the clean pail that stays."), field="exchanged_for")
    other = Pail.objects.of(pail.group).select_for_update(of=("self",)).get(pk=clean.pk)
    pail.at_source, other.at_source = other.at_source, pail.at_source
    pail.at_digester, other.at_digester = other.at_digester, pail.at_digester
    pail.seen_on = other.seen_on = on
    pail.is_missing = other.is_missing = False
    other.save()


def weigh_pail(pail: Pail, gross_g: int, foreign_g: int = 0) -> Net:
    """Net grams of a full pail: its tare off, foreign matter aside."""
    try:
        return net(Gross(gross_g, pail.tare_g, foreign_g))
    except ValueError as error:
        raise PailRefused(
            _(
                "%(gross)s g with pail %(pail)s (%(tare)s g) and %(foreign)s g of foreign matter "
                "cannot be. Weigh again."
            ),
            field="gross_g",
            figures={
                "gross": gross_g,
                "pail": pail.code,
                "tare": pail.tare_g,
                "foreign": foreign_g,
            },
        ) from error
