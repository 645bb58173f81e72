"""A first plan from the relaxation: keep the visits that carry most, drop those too small."""

from __future__ import annotations

from collections import defaultdict

import numpy as np

from apps.planning.core.arrays import Floats, Model
from apps.planning.core.engine import Program, solve_relaxation
from apps.planning.core.relax import FIRST_WISHES, aim, fix_columns, whole_part

ROUNDS = 12


def dive(model: Model, relaxed_x: Floats, weights: Floats = FIRST_WISHES) -> Floats | None:
    """A plan in columns near `relaxed_x`, or None when pins leave none."""
    program = aim(whole_part(model), weights)
    visits = model.visits
    keep = _pick_visits(model, relaxed_x)
    off = np.zeros(len(model.lower), dtype=bool)
    off[visits.column[~keep]] = True
    value = np.zeros(len(model.lower))
    for column in model.whole.values():
        if relaxed_x[column] > 1 - 1e-6 and not off[column]:
            value[column] = 1.0
        else:
            value[column] = model.lower[column]
        off[column] = True
    for _ in range(ROUNDS):
        answer = solve_relaxation(fix_columns(program, off, value))
        if answer.x is None:
            return None
        small = _too_small(model, answer.x) & ~off[visits.column]
        if not small.any():
            return _fix_visits(model, program, answer.x)
        off[visits.column[small]] = True
    off[visits.column[_too_small(model, answer.x)]] = True
    answer = solve_relaxation(fix_columns(program, off, value))
    return None if answer.x is None else _fix_visits(model, program, answer.x)


def _carried(model: Model, x: Floats) -> Floats:
    flows = model.flows
    return np.bincount(
        flows.visit, weights=x[: len(flows.visit)], minlength=len(model.visits.column)
    ).astype(float)


def _too_small(model: Model, x: Floats) -> np.ndarray:  # type: ignore[type-arg]
    """Visits that carry something, but less than the smallest pickup (none is forced)."""
    visits = model.visits
    least = np.array([d.min_pickup_g / 1000 for d in model.problem.digesters])
    carried = _carried(model, x)
    forced = model.lower[visits.column] > 0.5
    whole = np.isin(visits.column, list(model.whole.values()))
    small = (carried < least[visits.digester] - 1e-7) & ~forced & ~whole
    return np.asarray(small & (model.upper[visits.column] > 0) & (x[visits.column] > 0))


def _pick_visits(model: Model, x: Floats) -> np.ndarray:  # type: ignore[type-arg]
    """Visits by decreasing kilograms, within the limits of homes a source and visits a home."""
    problem, visits = model.problem, model.visits
    carried = _carried(model, x)
    forced = model.lower[visits.column] > 0.5
    carried[forced] = np.inf
    keep = np.zeros(len(carried), dtype=bool)
    homes: dict[tuple[int, int], int] = defaultdict(int)
    sources: dict[tuple[int, int], int] = defaultdict(int)
    for v in np.argsort(-carried, kind="stable").tolist():
        if carried[v] <= 1e-7:
            break
        h, s, day = int(visits.digester[v]), int(visits.source[v]), int(visits.day[v])
        full = (
            homes[h, day] >= problem.digesters[h].max_visits_per_day
            or sources[s, day] >= problem.sources[s].max_homes_per_day
        )
        if full and not forced[v]:
            continue
        keep[v] = True
        homes[h, day] += 1
        sources[s, day] += 1
    return keep


def _fix_visits(model: Model, program: Program, x: Floats) -> Floats | None:
    """The best kilograms for exactly the visits that carry something in `x`."""
    visits = model.visits
    value = x.copy()
    value[visits.column] = (_carried(model, x) > 1e-7) | (model.lower[visits.column] > 0.5)
    whole = list(model.whole.values())
    value[whole] = np.rint(x[whole])
    answer = solve_relaxation(fix_columns(program, model.integral, value))
    return answer.x
