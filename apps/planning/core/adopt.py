"""Starting from an earlier plan: what of it still fits is kept as it is.

Only homes whose part no longer fits (a limit fell, a pin came, a batch shrank) are settled
anew, so that the work of a small change does not grow with the town.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from apps.planning.core.blocks import group_homes
from apps.planning.core.dive import Dive
from apps.planning.core.engine import solve_relaxation
from apps.planning.core.improve import State, columns_of
from apps.planning.core.model import KG, Floats, Ints, Model
from apps.planning.core.problem import Placement, Problem
from apps.planning.core.relax import FIRST_WISHES, aim, fix_columns, take_part
from apps.planning.core.result import Feed, Provenance, Result

BLOCK = 20
"""Homes settled at once."""
FITS = 0.009
"""What a plan in whole grams may be over the model's rows, which keep room for rounding."""


@dataclass(frozen=True)
class Adopted:
    """A plan to start from. `touched`: homes where the incumbent no longer fits, and those
    near a batch of which there is more or less than before; the rest of `x`, its columns when
    adopted, is the incumbent's."""

    state: State
    touched: set[int]
    x: Floats
    unfit: set[int]


def adopt_plan(
    model: Model, incumbent: Result, near: list[list[int]], *, seed: int = 0
) -> Adopted | None:
    """The incumbent, changed only at the homes where it no longer fits.

    These keep, of its visits, what they can; where pins need more than that, they are planned
    afresh. None when the pins cannot be kept so."""
    x, unfit = _columns_of_plan(model, incumbent)
    _fill_slacks(model, x)
    state = State.at(model, x)
    unfit |= _unfit_homes(model, state)
    if unfit:
        state = State.at(model, np.where(np.isin(model.home, sorted(unfit)), 0.0, state.x))
    for group in group_homes(near, BLOCK, within=unfit):
        if not _settle(state, group, seed, visits_of=x) and not _settle(state, group, seed):
            return None
    return Adopted(state, unfit | _homes_near_change(model, incumbent), state.x.copy(), unfit)


def replaced_plan(problem: Problem) -> Result | None:
    """What is known of the plan that this one replaces with few changes: its placements."""
    if problem.rules.change_budget is None or not problem.previous:
        return None
    unknown = Provenance(0, 0, "", "", "")
    return Result(problem.previous, (), (), (), unknown)


Grams = tuple[tuple[Placement, ...], tuple[Feed, ...]]


def keep_grams(adopted: Adopted, incumbent: Result, rounded: Grams) -> Grams:
    """The rounded plan, with the incumbent's own grams at homes where nothing moved: nobody is
    told of a gram that rounding finds room for."""
    state, problem = adopted.state, adopted.state.model.problem
    moved = state.model.home[np.abs(state.x - adopted.x) > 1e-6]
    other = {problem.digesters[h].code for h in {*moved[moved >= 0].tolist(), *adopted.unfit}}
    placements, feeds = rounded
    placed = {(p.batch, p.digester, p.day): p.amount_g for p in placements}
    fed = {(f.lot, f.digester, f.day): f.amount_g for f in feeds}
    # Where rounding had to take some away, a limit fell by grams.
    for p in incumbent.placements:
        if placed.get((p.batch, p.digester, p.day), 0) < p.amount_g:
            other.add(p.digester)
    for f in incumbent.feeds:
        if fed.get((f.lot, f.digester, f.day), 0) < f.amount_g:
            other.add(f.digester)
    return (
        tuple(
            sorted(
                (
                    *(p for p in placements if p.digester in other),
                    *(p for p in incumbent.placements if p.digester not in other),
                ),
                key=lambda p: (p.batch, p.digester, p.day),
            )
        ),
        tuple(
            sorted(
                (
                    *(f for f in feeds if f.digester in other),
                    *(f for f in incumbent.feeds if f.digester not in other),
                ),
                key=lambda f: (f.digester, f.day, f.lot),
            )
        ),
    )


def _columns_of_plan(model: Model, incumbent: Result) -> tuple[Floats, set[int]]:
    """The incumbent's columns, and homes with something for which there is no column."""
    problem, flows = model.problem, model.flows
    homes = {d.code: h for h, d in enumerate(problem.digesters)}
    batches = {batch.code: b for b, batch in enumerate(problem.batches)}
    days = problem.days
    key = ((flows.batch * len(homes) + flows.digester) * days + flows.collect_day) * days
    key += flows.feed_day
    order = np.argsort(key, kind="stable")
    ordered = key[order]
    x = np.zeros(len(model.lower))
    unfit: set[int] = set()
    for batch, digester, collect, feed, grams in _flows_of(incumbent):
        h = homes.get(digester)
        if h is None:
            continue
        if batch in batches and 0 <= collect < days and 0 <= feed < days:
            wanted = ((batches[batch] * len(homes) + h) * days + collect) * days + feed
            at = int(np.searchsorted(ordered, wanted))
            if at < len(ordered) and ordered[at] == wanted:
                x[order[at]] += grams / KG
                continue
        unfit.add(h)
    x[_visits_of(model, incumbent.placements)] = 1.0
    placed = {(p.batch, p.digester, p.day) for p in incumbent.placements}
    for (b, h, day), column in model.whole.items():
        if (problem.batches[b].code, problem.digesters[h].code, day) in placed:
            x[column] = 1.0
    fed = {(f.digester, f.lot, f.day): f.amount_g for f in incumbent.feeds}
    for h, lot, day, column in model.stock_columns:
        home = problem.digesters[h]
        x[column] = fed.get((home.code, home.stock[lot].code, day), 0) / KG
    return x, unfit


def _visits_of(model: Model, placements: Iterable[Placement]) -> Ints:
    """Columns of the visits that bring these placements, where there are such."""
    problem = model.problem
    homes = {d.code: h for h, d in enumerate(problem.digesters)}
    sources = {s.code: i for i, s in enumerate(problem.sources)}
    source_of = {batch.code: sources[batch.source] for batch in problem.batches}
    keys = {(source_of.get(p.batch, -1), homes.get(p.digester, -1), p.day) for p in placements}
    going = sorted(model.visit_at[key] for key in keys if key in model.visit_at)
    return np.asarray(model.visits.column[np.array(going, dtype=np.int64)])


def _flows_of(incumbent: Result) -> Iterator[tuple[str, str, int, int, int]]:
    """(batch, digester, collected on, fed on, grams): what was collected first is fed first."""
    feeds: dict[tuple[str, str], list[list[int]]] = defaultdict(list)
    for feed in sorted(incumbent.feeds, key=lambda f: f.day):
        feeds[feed.lot, feed.digester].append([feed.day, feed.amount_g])
    for placement in sorted(incumbent.placements, key=lambda p: (p.day, p.batch, p.digester)):
        left = placement.amount_g
        for entry in feeds[placement.batch, placement.digester]:
            if left == 0:
                break
            grams = min(left, entry[1])
            if grams:
                entry[1] -= grams
                left -= grams
                yield placement.batch, placement.digester, placement.day, entry[0], grams


def _fill_slacks(model: Model, x: Floats) -> None:
    """The least of each wish's own columns that keeps its row, the cheapest first."""
    flow_count, visit_count = len(model.flows.batch), len(model.visits.column)
    slack = ~model.is_whole
    slack[: flow_count + visit_count] = False
    slack[[column for _, _, _, column in model.stock_columns]] = False
    activity = model.matrix @ x
    columns = np.flatnonzero(slack)
    for column in columns[
        np.argsort((FIRST_WISHES @ model.costs)[columns], kind="stable")
    ].tolist():
        for at in range(model.matrix.indptr[column], model.matrix.indptr[column + 1]):
            row, value = model.matrix.indices[at], model.matrix.data[at]
            missing = model.row_lower[row] if value > 0 else model.row_upper[row]
            amount = min(max((missing - activity[row]) / value, 0.0), model.upper[column])
            x[column] = max(x[column], amount)
            activity[row] += value * x[column]


def _unfit_homes(model: Model, state: State) -> set[int]:
    """Homes with a part in a row or bound that is passed."""
    x = state.x
    wrong = (x > model.upper + FITS) | (x < model.lower - FITS)
    short = state.activity < model.row_lower - FITS
    over = state.activity > model.row_upper + FITS
    rows = np.flatnonzero(short | over)
    if len(rows):
        entries = model.matrix.tocsr()[rows].tocoo()
        theirs = short[rows][entries.row] | (x[entries.col] > 0)
        wrong[entries.col[theirs]] = True
    homes = model.home[wrong]
    return set(homes[homes >= 0].tolist())


def _settle(state: State, homes: list[int], seed: int, *, visits_of: Floats | None = None) -> bool:
    """Plans `homes`, of which nothing is planned yet; with `visits_of` by only the visits it
    makes and the pinned ones: all of them where kilograms for them can be found, home by home,
    else those that a dive keeps."""
    model = state.model
    columns = columns_of(model, homes)
    if visits_of is not None:
        columns = columns[_of_visits(model, visits_of)[columns]]
    part = take_part(model, columns, state.x, state.activity, keep_start=False)
    program = aim(part, FIRST_WISHES)
    found = None
    if visits_of is not None:
        made = np.maximum(np.rint(visits_of[columns]), program.lower)
        found = solve_relaxation(fix_columns(program, program.integral, made), seed=seed).x
        if found is None and len(homes) > 1:
            return all(_settle(state, [h], seed, visits_of=visits_of) for h in homes)
    if found is None:
        found = Dive(model, columns, program, state.x).run(seed)
    if found is None:
        return False
    found[program.integral] = np.rint(found[program.integral])
    state.move(columns, found)
    return True


def _of_visits(model: Model, x: Floats) -> NDArray[np.bool_]:
    """Columns of the visits that `x` makes or must make, and all that belong to no visit."""
    flow_count, visit_count = len(model.flows.batch), len(model.visits.column)
    chosen = (x[model.visits.column] > 0.5) | (model.lower[model.visits.column] > 0.5)
    keep = np.ones(len(model.lower), dtype=bool)
    keep[:flow_count] = chosen[model.flows.visit]
    keep[flow_count : flow_count + visit_count] = chosen
    if model.whole:
        column_of = np.array(list(model.whole.values()), dtype=np.int64)
        keys = np.array(list(model.whole), dtype=np.int64)
        flows, days = model.flows, model.problem.days
        part = (flows.batch * len(model.home_columns) + flows.digester) * days + flows.collect_day
        wanted = (keys[:, 0] * len(model.home_columns) + keys[:, 1]) * days + keys[:, 2]
        keep[column_of] = np.isin(wanted, part[keep[:flow_count]])
    return keep


def _homes_near_change(model: Model, incumbent: Result) -> set[int]:
    """Homes in reach of a batch that has more or less than the incumbent knew of."""
    known: dict[str, int] = defaultdict(int)
    for placement in incumbent.placements:
        known[placement.batch] += placement.amount_g
    for left in incumbent.left_over:
        known[left.batch] += left.amount_g
    changed = [b for b, x in enumerate(model.problem.batches) if known[x.code] != x.amount_g]
    flows: Ints = model.flows.digester[np.isin(model.flows.batch, changed)]
    return set(flows.tolist())
