"""Write down that a digester was fed, and ask first when that is dangerous.

The ledger never refuses a fact: what happened is recorded. Somebody who says more than the
day's maximum, or feeds a digester in a stage without feeding, is told the danger and its figure
and asked again; confirmed, it is recorded, a fact `overfed` raises the alarm, and the limits
find it in the loading.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction

from apps.digesters.core.day_limits import DayLimits, Limit
from apps.digesters.core.facts import QUANTITIES
from apps.digesters.core.headroom import Load
from apps.digesters.core.stages import UNFED, Stage
from apps.digesters.models import Digester
from apps.digesters.queries.day_limits import day_limits
from apps.digesters.queries.fed_history import fed_history
from apps.feedstock.core.feeds import PPM, feed_coefficients
from apps.feedstock.models import Material
from apps.feedstock.queries.known_materials import known_materials
from apps.groups.operations.record_fact import record_fact
from apps.kernel.days import local_date
from apps.kernel.errors import NeedsConfirmation
from apps.kernel.quantities import in_thousands
from apps.kernel.sentences import Sentence, gettext_noop
from apps.ledger.models import Posting
from apps.ledger.operations.entry import CLOCK_SLACK, InTheFuture
from apps.ledger.operations.post import Posted
from apps.ledger.operations.record_feeding import record_feeding
from apps.people.models import Member

_OVER = {
    "feed_g": gettext_noop("%(given)s kg in one day is more than its most, %(most)s kg. "),
    "vs_g": gettext_noop(
        "%(given)s kg of volatile solids in one day is more than its most, %(most)s kg. "
    ),
    "slurry_ml": gettext_noop(
        "%(given)s litres of waste and water in one day is more than its most, %(most)s litres. "
    ),
}
_DANGER = gettext_noop(
    "%(over)s%(why)s Too much at once sours a digester: gas stops for weeks and it smells. Was "
    "it really fed so?"
)
_UNFED = gettext_noop(
    "It is %(stage)s and takes no waste: feeding now can sour it before it ever burns. Was it "
    "really fed %(given)s kg?"
)


class OverFeeding(NeedsConfirmation):
    """More than the day's maximum, or in a stage without feeding."""

    code = "over_feeding"


@dataclass(frozen=True, slots=True)
class Fed:
    """The posting, and the limits that the day now passes; empty when all is well."""

    posted: Posted
    over: tuple[Limit, ...]

    @property
    def is_over(self) -> bool:
        """Whether the alarm was raised."""
        return bool(self.over)


def feed_digester(
    digester: Digester,
    *,
    from_bin_g: Mapping[Material, int],
    own_waste_g: Mapping[Material, int],
    water_ml: int,
    fed_at: datetime,
    now: datetime,
    client_key: str,
    recorded_by: Member | None = None,
    from_bin_of: Digester | None = None,
    is_confirmed: bool = False,
    note: str = "",
) -> Fed:
    """Grams by material from the bin and the own kitchen, water in ml. `from_bin_of` names
    another digester whose bin it was taken from. A second feeding of a day counts together with
    the first; a late one lies on the day of `fed_at`.

    Raises `OverFeeding` unless `is_confirmed`; the ledger's refusals otherwise.
    """
    group = digester.group
    if fed_at > now + CLOCK_SLACK:
        raise InTheFuture(
            gettext_noop("%(given)s has not come yet. Give the time at which it happened."),
            field="fed_at",
            figures={"given": f"{fed_at:%Y-%m-%d %H:%M %Z}"},
        )
    on = local_date(fed_at, group.time_zone)
    amounts_g: dict[Material, int] = {}
    for part in (from_bin_g, own_waste_g):
        for material, amount_g in part.items():
            amounts_g[material] = amounts_g.get(material, 0) + amount_g
    with transaction.atomic():
        # One feeding of a digester at a time, so that two at once are counted together.
        Digester.objects.of(group).select_for_update(of=("self",)).get(pk=digester.pk)
        is_new = not Posting.objects.of(group).filter(client_key=client_key).exists()
        over: tuple[Limit, ...] = ()
        load = Load()
        if is_new:
            load = _day_load(digester, on, amounts_g, water_ml)
            limits = day_limits(group, on, 1, as_of=on)[digester.code].days[0].limits
            over = _passed(limits, load)
            # Water alone, in a tank at rest, is no feeding.
            if over and any(amounts_g.values()) and not is_confirmed:
                raise _ask(digester, load, over, sum(amounts_g.values()))
        posted = record_feeding(
            group,
            digester_account=digester.account,
            bin_account=(from_bin_of or digester).bin_account,
            from_bin_g=from_bin_g,
            own_waste_g=own_waste_g,
            water_ml=water_ml,
            happened_at=fed_at,
            now=now,
            client_key=client_key,
            recorded_by_uuid=recorded_by.uuid if recorded_by else None,
            note=note,
        )
        if over and not posted.is_repeat:
            _tell(digester, on, load, over, now, recorded_by)
    return Fed(posted, over)


def _day_load(
    digester: Digester, on: date, amounts_g: Mapping[Material, int], water_ml: int
) -> Load:
    """All of that day, this feeding included."""
    materials = known_materials(digester.group)
    before = fed_history(digester.group, [digester], materials, on, on)[digester.code].days
    vs_ppm = sum(
        amount_g * feed_coefficients(materials[material.code]).vs_ppm
        for material, amount_g in amounts_g.items()
    )
    feed_g = sum(amounts_g.values())
    now = Load(feed_g, math.ceil(vs_ppm / PPM), feed_g + water_ml)
    return sum((Load(day.feed_g, day.vs_g, day.slurry_ml) for day in before), now)


def _passed(limits: DayLimits, load: Load) -> tuple[Limit, ...]:
    binding = (limits.binding(quantity) for quantity in QUANTITIES)
    return tuple(each for each in binding if getattr(load, each.quantity) > each.value)


def _ask(digester: Digester, load: Load, over: tuple[Limit, ...], fed_g: int) -> OverFeeding:
    stage = Stage(digester.stage)
    if stage in UNFED:
        return OverFeeding(
            _UNFED,
            field="amount_g",
            figures={"stage": stage.value, "given": in_thousands(fed_g)},
        )
    worst = max(over, key=lambda limit: getattr(load, limit.quantity) / max(limit.value, 1))
    given, most = getattr(load, worst.quantity), worst.value
    figures = {"given": in_thousands(given), "most": in_thousands(most)}
    return OverFeeding(
        _DANGER,
        field="amount_g",
        figures={
            "over": Sentence(_OVER[worst.quantity], figures),
            "why": worst.sentence,
            "rule": worst.rule_id,
            **figures,
        },
    )


def _tell(
    digester: Digester,
    on: date,
    load: Load,
    over: tuple[Limit, ...],
    now: datetime,
    recorded_by: Member | None,
) -> None:
    record_fact(
        digester.group,
        "overfed",
        happened_at=now,
        subject_uuid=digester.uuid,
        payload={
            "on": on.isoformat(),
            "rules": [limit.rule_id for limit in over],
            "given": {limit.quantity: getattr(load, limit.quantity) for limit in over},
            "most": {limit.quantity: limit.value for limit in over},
        },
        actor_uuid=recorded_by.uuid if recorded_by else None,
    )
