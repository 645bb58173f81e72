"""What if a digester were fed differently for a while? Nothing is written."""

from __future__ import annotations

from datetime import datetime, timedelta

from apps.digesters.core.process.what_if import Future, what_if
from apps.digesters.models import Digester, ModelState
from apps.digesters.queries.model_inputs import model_inputs
from apps.digesters.queries.model_outlook import MIX_DAYS, planned_days, scaled_days
from apps.digesters.queries.planned_feeds import planned_feeds
from apps.digesters.queries.stored_state import stored_state
from apps.kernel.days import local_date
from apps.kernel.errors import Refused
from apps.kernel.words import gettext_noop

STATE_DAYS = 60
"""An older state is not tried upon."""
MOST_WHAT_IF_DAYS = 28
MOST_WHAT_IF_KG_PER_M3 = 10.0
"""kg VS a day and m3: five times what is ever allowed; the model knows nothing beyond."""


class ImpossibleTrial(Refused):
    """A feed that the model knows nothing about."""

    code = "impossible_trial"


def try_feed(
    digester: Digester, now: datetime, *, vs_kg_per_day: float, days: int = 7
) -> tuple[Future, Future] | None:
    """The futures of the usual mix at so many kg of volatile solids a day, and as planned; None
    without a model. Nothing is written."""
    most_kg = MOST_WHAT_IF_KG_PER_M3 * digester.working_volume_ml / 1e6
    if not 0 <= vs_kg_per_day <= most_kg or not 1 <= days <= MOST_WHAT_IF_DAYS:
        raise ImpossibleTrial(
            gettext_noop(
                "The model cannot try %(kg)s kg of volatile solids a day for %(days)s days; give "
                "0 to %(most_kg)s kg and 1 to %(most_days)s days."
            ),
            field="vs_kg_per_day",
            figures={
                "kg": f"{vs_kg_per_day:g}",
                "days": days,
                "most_kg": f"{most_kg:g}",
                "most_days": MOST_WHAT_IF_DAYS,
            },
        )
    group = digester.group
    on = local_date(now, group.time_zone)
    row = (
        ModelState.objects.of(group)
        .filter(digester=digester, on__lte=on, on__gt=on - timedelta(days=STATE_DAYS))
        .order_by("-on")
        .first()
    )
    state = stored_state(row) if row else None
    if state is None:
        return None
    first = on - timedelta(days=MIX_DAYS)
    inputs = model_inputs(group, [digester], first, on)[digester.pk]
    planned_g = planned_feeds(group, on, [digester.code]).get(digester.code)
    working_m3 = digester.working_volume_ml / 1e6
    return (
        what_if(state.ensemble, working_m3, scaled_days(inputs, on, vs_kg_per_day, days)),
        what_if(
            state.ensemble, working_m3, planned_days(inputs, on, planned_g=planned_g, days=days)
        ),
    )
