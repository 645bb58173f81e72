"""A household goes away: the days, a keyholder or none, and what that means for the digester."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from apps.digesters.models import Digester
from apps.kernel.sentences import Sentence, gettext_noop
from apps.people.models import Member
from apps.places.models import Absence
from apps.places.operations.set_absence import set_absence

_TAPER = gettext_noop("Nobody feeds it: the three days before, less and less is planned.")
_BURN = gettext_noop("Before you go, burn what is in the holder. Then close every valve.")
_RELIEF = gettext_noop("See that the holder's relief is free and vents outdoors, away from fire.")
_KEYHOLDER = gettext_noop(
    "%(name)s feeds it and burns the gas. The plan gives no more than the holder's %(litres)s L "
    "of gas a day."
)
_RESTART = gettext_noop("From %(on)s it comes back to the feed it was used to, step by step.")


@dataclass(frozen=True, slots=True)
class Away:
    """The absence and what to tell the household."""

    absence: Absence
    advice: tuple[Sentence, ...]


def go_away(
    digester: Digester,
    *,
    first_on: date,
    last_on: date,
    now: datetime,
    keyholder: Member | None = None,
    recorded_by: Member | None = None,
    note: str = "",
) -> Away:
    """Both days included. The limits taper before, stop or hold while away, and come back from
    the stable level afterwards; fact `absence_set` asks for a new plan."""
    absence = set_absence(
        digester.place,
        first_on=first_on,
        last_on=last_on,
        now=now,
        keyholder=keyholder,
        note=note,
        actor_uuid=recorded_by.uuid if recorded_by else None,
    )
    back_on = date.fromordinal(last_on.toordinal() + 1)
    restart = Sentence(_RESTART, {"on": back_on.isoformat()})
    if keyholder is None:
        return Away(absence, (Sentence(_TAPER), Sentence(_BURN), Sentence(_RELIEF), restart))
    litres = digester.gas_holder_ml // 1000
    return Away(
        absence,
        (Sentence(_KEYHOLDER, {"name": keyholder.name, "litres": litres}), Sentence(_RELIEF)),
    )
