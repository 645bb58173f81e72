"""The living digester as people see it: gas this evening, what is inside, tomorrow's feeding and
why, warnings, what was foreseen and what came."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from apps.digesters.core.process.cooking import Band, FuelSaved, fuel_saved
from apps.digesters.core.process.forecast import StateSummary, forecast, summary
from apps.digesters.core.process.track import PH_STRIP_SD
from apps.digesters.core.process.what_if import Future, feed_plan, future_of
from apps.digesters.models import Digester, ModelState, RaisedWarning, ReadingKind
from apps.digesters.queries.evening_gas import Promise, evening_gas
from apps.digesters.queries.lighting import why_not_light
from apps.digesters.queries.model_inputs import ModelInputs, model_inputs
from apps.digesters.queries.model_outlook import planned_days, usual_mix
from apps.digesters.queries.planned_feeds import planned_feeds
from apps.digesters.queries.stored_state import stored_state
from apps.digesters.queries.tomorrow_feeding import Tomorrow, tomorrow_feeding
from apps.digesters.queries.warning_signs_seen import STRIP_DAYS
from apps.kernel.days import local_date
from apps.kernel.sentences import Sentence

HISTORY_DAYS = 60
USE_DAYS = 30
USUAL_ACTIVITY = 0.62
"""Prior median of the activity of the methanogens; see `core.process.ensemble`."""


@dataclass(frozen=True)
class Inside:
    """`activity`: low, usual or high; "unknown" while its band reaches over all three, as it
    mostly does: gas tells little about it."""

    figures: StateSummary
    activity: str
    souring_probability: float
    souring_in_days: int | None
    strip_apart: float | None
    """The last strip [pH] where it is so far from the belief that only the strip counts."""


@dataclass(frozen=True)
class Came:
    """Gas foreseen between two looks and what came [dry standard L]."""

    on: date
    foreseen_l: Band
    came_l: float
    at_least: bool

    @property
    def within(self) -> bool:
        """Whether it came inside the 80 % band; a full holder cannot contradict a higher one."""
        low, high = self.foreseen_l.low, self.foreseen_l.high
        return low <= self.came_l <= high or (self.at_least and self.came_l <= high)


@dataclass(frozen=True)
class GasUse:
    """What became of gas in the last `days`: cooked with, and apart from it flared or vented."""

    days: int
    cooked_min: int
    cooked_l: float
    saved: FuelSaved
    flared_min: int
    vented_l: int


@dataclass(frozen=True)
class ModelView:
    """Everything about one living digester; `state_on` None: no model of it yet, rules alone."""

    digester: Digester
    on: date
    state_on: date | None
    promise: Promise | None
    inside: Inside | None
    ahead: Future | None
    tomorrow: Tomorrow
    warnings: Sequence[RaisedWarning]
    history: Sequence[Came]
    use: GasUse
    vs_share: float
    """kg of volatile solids in a kg of its usual mix."""
    not_to_light: Sentence | None


def model_view(digester: Digester, now: datetime) -> ModelView:
    """A constant number of queries; under a second."""
    group = digester.group
    on = local_date(now, group.time_zone)
    first = on - timedelta(days=HISTORY_DAYS)
    inputs = model_inputs(group, [digester], first, on)[digester.pk]
    rows = list(
        ModelState.objects.of(group)
        .filter(digester=digester, on__gte=first, on__lte=on)
        .defer("blob")
        .order_by("on")
    )
    state = stored_state(rows[-1]) if rows else None
    promise = inside = ahead = None
    not_to_light = why_not_light(digester)
    if state is not None:
        planned_g = planned_feeds(group, on, [digester.code]).get(digester.code)
        plan = feed_plan(
            planned_days(inputs, on, planned_g=planned_g), digester.working_volume_ml / 1e6
        )
        run = forecast(state.ensemble, plan, _volume(digester))
        figures = summary(state.ensemble)
        inside = Inside(
            figures,
            _activity(figures.activity),
            run.souring_probability(0),
            run.souring_in_days(0),
            _strip_apart(inputs, figures.ph, on),
        )
        ahead = future_of(run)
        if not_to_light is None:
            promise = evening_gas(inputs, state, run.gas_band(0, 0), on)
    return ModelView(
        digester=digester,
        on=on,
        state_on=state.on if state else None,
        promise=promise,
        inside=inside,
        ahead=ahead,
        tomorrow=tomorrow_feeding(digester, inputs, on),
        warnings=list(RaisedWarning.objects.of(group).filter(digester=digester, cleared_on=None)),
        history=_history(rows),
        use=_use(inputs, on),
        vs_share=usual_mix(inputs, on).vs_per_kg,
        not_to_light=not_to_light,
    )


def _strip_apart(inputs: ModelInputs, believed: Band, on: date) -> float | None:
    strips = [
        each.value / 100
        for each in inputs.readings
        if each.kind == ReadingKind.PH and (on - each.on).days < STRIP_DAYS
    ]
    if not strips:
        return None
    off = max(believed.low - strips[-1], strips[-1] - believed.high)
    return strips[-1] if off > 2 * PH_STRIP_SD else None


def _volume(digester: Digester) -> NDArray[np.float64]:
    return np.array([digester.working_volume_ml / 1e6])


def _activity(band: Band) -> str:
    if band.high < USUAL_ACTIVITY:
        return "low"
    if band.low > USUAL_ACTIVITY:
        return "high"
    # Twice or half the usual still inside the band: nothing is known, and that is said.
    wide = band.low < USUAL_ACTIVITY / 1.5 and band.high > USUAL_ACTIVITY * 1.5
    return "unknown" if wide else "usual"


def _history(rows: Sequence[ModelState]) -> list[Came]:
    found = []
    for row in rows:
        if "gas_seen_m3" in row.figures:
            low, middle, high = (1000 * each for each in row.figures["since_m3"])
            found.append(
                Came(
                    row.on,
                    Band(low, middle, high),
                    1000 * row.figures["gas_seen_m3"],
                    bool(row.figures["at_least"]),
                )
            )
    return found


def _use(inputs: ModelInputs, on: date) -> GasUse:
    since = on - timedelta(days=USE_DAYS)
    total = {ReadingKind.BURNER: 0, ReadingKind.FLARED: 0, ReadingKind.VENTED: 0}
    for reading in inputs.readings:
        if reading.on > since and reading.kind in total:
            total[ReadingKind(reading.kind)] += reading.value
    cooked_l = total[ReadingKind.BURNER] / 60 * inputs.digester.burner_ml_per_h / 1000
    return GasUse(
        USE_DAYS,
        total[ReadingKind.BURNER],
        cooked_l,
        fuel_saved(cooked_l / 1000),
        total[ReadingKind.FLARED],
        total[ReadingKind.VENTED],
    )
