"""Starting from an earlier plan: what of it still fits is kept, the rest is dropped."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from apps.planning.core.arrays import Ints, Model
from apps.planning.core.dive import Dive
from apps.planning.core.improve import State
from apps.planning.core.problem import Placement
from apps.planning.core.relax import FIRST_WISHES, aim, take_part
from apps.planning.core.result import Result


def adopt_plan(model: Model, incumbent: Result, *, seed: int = 0) -> State | None:
    """The best plan that makes only the incumbent's visits and the pinned ones; None when the
    pins cannot be kept so."""
    visits = model.visits
    source_at = {s.code: i for i, s in enumerate(model.problem.sources)}
    digester_at = {d.code: i for i, d in enumerate(model.problem.digesters)}
    batch_source = {b.code: source_at[b.source] for b in model.problem.batches}
    going = {
        (batch_source[p.batch], digester_at[p.digester], p.day)
        for p in incumbent.placements
        if p.batch in batch_source and p.digester in digester_at
    }
    keys = zip(visits.source.tolist(), visits.digester.tolist(), visits.day.tolist(), strict=True)
    chosen = np.array([key in going for key in keys], dtype=bool).reshape(-1)
    chosen |= model.lower[visits.column] > 0.5
    columns = _columns_with(model, chosen)
    x = np.zeros(len(model.lower))
    activity = np.zeros(model.matrix.shape[0])
    part = take_part(model, columns, x, activity, keep_start=False)
    found = Dive(model, columns, aim(part, FIRST_WISHES), x).run(seed)
    if found is None:
        return None
    x[columns] = found
    return State.at(model, x)


def touched_homes(model: Model, state: State, incumbent: Result) -> set[int]:
    """Homes where the state differs from the incumbent in what they get on any day."""
    flows = model.flows
    digester_at = {d.code: i for i, d in enumerate(model.problem.digesters)}
    batch_at = {b.code: i for i, b in enumerate(model.problem.batches)}
    now: dict[tuple[int, int, int], int] = {}
    for i in np.flatnonzero(state.x[: len(flows.batch)] > 5e-4).tolist():
        key = (int(flows.batch[i]), int(flows.digester[i]), int(flows.collect_day[i]))
        now[key] = now.get(key, 0) + round(1000 * float(state.x[i]))
    touched: set[int] = set()
    before: dict[tuple[int, int, int], int] = {}
    for placement in incumbent.placements:
        if placement.digester not in digester_at:
            continue
        home = digester_at[placement.digester]
        if placement.batch not in batch_at:
            touched.add(home)
            continue
        before[batch_at[placement.batch], home, placement.day] = placement.amount_g
    for key in now.keys() | before.keys():
        if abs(now.get(key, 0) - before.get(key, 0)) > MOVED_G:
            touched.add(key[1])
    return touched


MOVED_G = 100
"""Smaller differences come from re-settling kilograms and touch nobody."""


def _columns_with(model: Model, chosen: NDArray[np.bool_]) -> Ints:
    """Columns of the chosen visits and all that are neither visits nor flows."""
    flow_count, visit_count = len(model.flows.batch), len(model.visits.column)
    keep = np.ones(len(model.lower), dtype=bool)
    keep[:flow_count] = chosen[model.flows.visit]
    keep[flow_count : flow_count + visit_count] = chosen
    source_at = {s.code: i for i, s in enumerate(model.problem.sources)}
    chosen_keys = {
        (
            int(model.visits.source[v]),
            int(model.visits.digester[v]),
            int(model.visits.day[v]),
        )
        for v in np.flatnonzero(chosen)
    }
    for (batch, home, day), column in model.whole.items():
        source = source_at[model.problem.batches[batch].source]
        keep[column] = (source, home, day) in chosen_keys
    return np.flatnonzero(keep)


def list_changes(
    before: Result, after: Result
) -> tuple[tuple[Placement, ...], tuple[Placement, ...]]:
    """Placements that vanish and placements that appear (a changed amount does both)."""
    old, new = set(before.placements), set(after.placements)

    def order(placement: Placement) -> tuple[str, str, int, int]:
        return placement.batch, placement.digester, placement.day, placement.amount_g

    return tuple(sorted(old - new, key=order)), tuple(sorted(new - old, key=order))
