"""Minutes of one burner this evening, for the page of a day."""

from __future__ import annotations

from datetime import datetime, timedelta

import numpy as np

from apps.digesters.core.process.forecast import forecast
from apps.digesters.core.process.look_record import MOST_DAYS_BETWEEN
from apps.digesters.core.process.what_if import feed_plan
from apps.digesters.models import Digester, ModelState
from apps.digesters.queries.evening_gas import Promise, evening_gas
from apps.digesters.queries.model_inputs import model_inputs
from apps.digesters.queries.model_outlook import planned_days
from apps.digesters.queries.planned_feeds import planned_feeds
from apps.digesters.queries.stored_state import stored_state
from apps.kernel.days import local_date


def gas_tonight(digester: Digester, now: datetime) -> Promise | None:
    """None where no model follows it, or not lately. A constant number of queries; whether it may
    be lit at all is for `lighting.why_not_light` to say."""
    on = local_date(now, digester.group.time_zone)
    first = on - timedelta(days=MOST_DAYS_BETWEEN)
    row = (
        ModelState.objects.of(digester.group)
        .filter(digester=digester, on__gte=first, on__lte=on)
        .last()
    )
    state = stored_state(row) if row else None
    if state is None:
        return None
    inputs = model_inputs(digester.group, [digester], first, on)[digester.pk]
    volume_m3 = digester.working_volume_ml / 1e6
    planned_g = planned_feeds(digester.group, on, [digester.code]).get(digester.code)
    day = feed_plan(planned_days(inputs, on, planned_g=planned_g, days=1), volume_m3)
    a_day = forecast(state.ensemble, day, np.array([volume_m3])).gas_band(0, 0)
    return evening_gas(inputs, state, a_day, on)
