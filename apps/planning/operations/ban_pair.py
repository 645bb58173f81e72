"""Rule a source out for a digester, on one day or for good."""

from __future__ import annotations

from datetime import date, datetime

from django.db import transaction
from django.utils.translation import gettext as _

from apps.digesters.models import Digester
from apps.groups.models import Group
from apps.groups.operations.record_fact import record_fact
from apps.kernel.errors import Refused
from apps.people.models import Member
from apps.planning.models import Ban, Pin
from apps.supply.models import Source


class BanRefused(Refused):
    """A pin asks for what would be ruled out."""

    code = "ban_refused"


@transaction.atomic
def ban_pair(
    group: Group,
    *,
    source: Source,
    digester: Digester,
    now: datetime,
    on: date | None = None,
    asked_by: Member | None = None,
) -> Ban:
    """Never this source to this digester, on `on` or, without a day, on any. Asking twice is
    asking once."""
    Group.objects.select_for_update(no_key=True).get(pk=group.pk)
    pins = Pin.objects.of(group).filter(stream__source=source, digester=digester)
    contradicting = (pins if on is None else pins.filter(on=on)).order_by("on").first()
    if contradicting is not None:
        raise BanRefused(
            _("%(source)s is pinned to %(digester)s on %(on)s. Lift that pin first.")
            % {"source": source.name, "digester": digester.name, "on": contradicting.on},
            figures={"pin": str(contradicting.uuid), "on": contradicting.on.isoformat()},
        )
    ban, made = Ban.unscoped.get_or_create(
        group=group,
        source=source,
        digester=digester,
        on=on,
        defaults={"asked_by": asked_by, "asked_at": now},
    )
    if made:
        _tell(ban, "pair_banned", now, asked_by)
    return ban


@transaction.atomic
def lift_ban(ban: Ban, *, now: datetime, asked_by: Member | None = None) -> None:
    """Allow the pair again."""
    _tell(ban, "ban_lifted", now, asked_by)
    ban.delete()


def _tell(ban: Ban, kind: str, now: datetime, by: Member | None) -> None:
    record_fact(
        ban.group,
        kind,
        happened_at=now,
        subject_uuid=ban.uuid,
        payload={
            "source": ban.source.code,
            "digester": ban.digester.code,
            "on": ban.on.isoformat() if ban.on else None,
        },
        actor_uuid=by.uuid if by else None,
    )
