"""A planning problem as one linear mixed-integer model in arrays.

Columns (kilograms or yes/no): flow of a batch to a digester, collected on one day and fed on
one day; stock fed on a day; visit (source, digester, day); whole batch; slacks of the wishes.
Because flows carry both days, shelf life, bin, shares and caps are exact rows: whatever
satisfies the rows is a plan, up to the last gram, which `whole_grams` settles.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from apps.planning.core.problem import PPM, Digester, Problem
from apps.planning.core.result import SHORTFALL_PIECES, TRIP_G_M, WISHES

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

KG = 1_000
ROUNDING_ROOM_G = 4
"""Grams kept free in rows over divisible flows, so that whole grams fit (given back after)."""

GLUT = 2.0
"""Offered VS over all targets beyond which there is a glut."""

BELOW, OVERDUE, CHANGES, SHORTFALL, LEFT, CARRYING, UNSTEADY, UNFAIR = range(len(WISHES))
WISH_UNITS = np.array([1e3, 1.0, 1.0, 1e6, 1e3, 1e6, 1.0, 1e6])
"""How many of a wish's units one unit of the model is (kg, pickups, kg, kg, kg·km, ...)."""


@dataclass(frozen=True)
class Flows:
    """Per flow column: indices into the canonical problem's tuples, days, and its visit column."""

    batch: Ints
    digester: Ints
    pair: Ints
    collect_day: Ints
    feed_day: Ints
    visit: Ints
    usable_kg: Floats
    vs_kg: Floats


@dataclass(frozen=True)
class Visits:
    """Per visit: its column, source, digester, day, and the most it can carry (kg)."""

    column: Ints
    source: Ints
    digester: Ints
    day: Ints
    cap_kg: Floats


@dataclass(frozen=True)
class Model:
    """min costs[k] @ x + offsets[k] lexicographically, row_lower <= matrix @ x <= row_upper."""

    problem: Problem
    matrix: sparse.csc_matrix
    row_lower: Floats
    row_upper: Floats
    lower: Floats
    upper: Floats
    integral: Bools
    costs: Floats
    offsets: Floats
    home: Ints
    """Per column the digester it belongs to, -1 for columns that belong to none."""
    flows: Flows
    """Flow columns come first: column i is flow i."""
    visits: Visits
    stock_columns: tuple[tuple[int, int, int, int], ...]
    """(digester, lot index, day, column)."""
    whole: dict[tuple[int, int, int], int]
    """(batch, digester, collect day) of an indivisible batch -> its yes/no column."""
    home_columns: tuple[Ints, ...]
    """Per digester its columns, and the shared ones (waiting sources, changes) it touches."""

    @cached_property
    def sources_near(self) -> tuple[frozenset[int], ...]:
        """Per digester the sources from which something may come."""
        out: list[set[int]] = [set() for _ in self.problem.digesters]
        ends = np.unique(np.stack([self.visits.digester, self.visits.source], axis=1), axis=0)
        for home, source in ends.tolist():
            out[home].add(source)
        return tuple(frozenset(each) for each in out)

    @cached_property
    def is_whole(self) -> Bools:
        """Columns that decide over an indivisible batch."""
        out = np.zeros(len(self.lower), dtype=bool)
        out[list(self.whole.values())] = True
        return out

    @cached_property
    def least_kg(self) -> Floats:
        """Smallest pickup of each digester."""
        return np.array([d.min_pickup_g / KG for d in self.problem.digesters], dtype=float)

    @cached_property
    def is_glut(self) -> bool:
        """Whether much more VS is offered than all targets ask for."""
        problem = self.problem
        vs_ppm = {m.code: m.vs_ppm for m in problem.materials}
        offered_g = sum(b.amount_g * vs_ppm[b.material] for b in problem.batches) / PPM
        return offered_g > GLUT * sum(sum(d.target_vs_g) for d in problem.digesters)


class _Rows:
    """Collects rows as triplets."""

    def __init__(self) -> None:
        self.rows: list[Ints] = []
        self.cols: list[Ints] = []
        self.values: list[Floats] = []
        self.lower: list[Floats] = []
        self.upper: list[Floats] = []
        self.count = 0

    def open(self, lower: Floats, upper: Floats) -> int:
        """Adds rows with these bounds; returns the first one's index."""
        first = self.count
        self.lower.append(np.asarray(lower, dtype=float))
        self.upper.append(np.asarray(upper, dtype=float))
        self.count += len(lower)
        return first

    def put(self, rows: Ints, cols: Ints, values: Floats) -> None:
        self.rows.append(np.asarray(rows, dtype=np.int64))
        self.cols.append(np.asarray(cols, dtype=np.int64))
        self.values.append(np.asarray(values, dtype=float))


def _full(count: int, value: float) -> Floats:
    return np.full(count, value, dtype=float)


def build_model(problem: Problem, room_g: int = ROUNDING_ROOM_G) -> Model:  # noqa: PLR0912, PLR0915
    """The model of a canonical, checked problem (see `sort_problem`, `check_problem`).

    `room_g` is kept free for rounding; with 0 the relaxation's optimum is a valid bound."""
    days = problem.days
    materials = {m.code: m for m in problem.materials}
    digester_at = {d.code: i for i, d in enumerate(problem.digesters)}
    source_at = {s.code: i for i, s in enumerate(problem.sources)}
    batch_at = {b.code: i for i, b in enumerate(problem.batches)}
    count_d, count_b = len(problem.digesters), len(problem.batches)

    # Flow columns.
    fixed: dict[tuple[int, int, int], tuple[int, int]] = {}
    started_keys: set[tuple[int, int, int]] = set()
    for done in problem.started:
        key = (batch_at[done.batch], digester_at[done.digester], done.day)
        amount = fixed.get(key, (0, 0))[0] + done.amount_g
        fixed[key] = (amount, amount)
        started_keys.add(key)
    for pin in problem.pins:
        key = (batch_at[pin.batch], digester_at[pin.digester], pin.day)
        if key in started_keys:
            continue
        batch = problem.batches[key[0]]
        if pin.amount_g is None:
            fewest = batch.amount_g
            if batch.divisible:
                fewest = min(fewest, problem.digesters[key[1]].min_pickup_g)
            fixed[key] = (max(fewest, fixed.get(key, (0, 0))[0]), batch.amount_g)
        else:
            fixed[key] = (pin.amount_g, pin.amount_g)
    listed = _list_flows(problem, digester_at, started_keys)
    z_batch, z_pair, z_dc, z_df = listed.T.copy()
    count_z = len(z_batch)
    pair_d = np.array([digester_at[p.digester] for p in problem.pairs], dtype=np.int64)
    pair_usable = np.array([p.usable_ppm / PPM for p in problem.pairs], dtype=float)
    batch_source = np.array([source_at[b.source] for b in problem.batches], dtype=np.int64)
    batch_kg = np.array([b.amount_g / KG for b in problem.batches], dtype=float)
    batch_vs = np.array([materials[b.material].vs_ppm / PPM for b in problem.batches], dtype=float)
    batch_slurry = np.array(
        [materials[b.material].slurry_ppm / PPM for b in problem.batches], dtype=float
    )
    divisible = np.array([b.divisible for b in problem.batches], dtype=bool)
    capped = sorted({cap.group for d in problem.digesters for cap in d.share_caps})
    in_group = {
        group: np.array(
            [group in materials[b.material].share_groups for b in problem.batches], dtype=bool
        )
        for group in capped
    }
    # A started pickup may lie outside the listed pairs: it then has pair -1 - digester.
    z_d = np.where(z_pair >= 0, pair_d[z_pair] if len(pair_d) else 0, -1 - z_pair)
    usable = np.where(z_pair >= 0, pair_usable[z_pair] if len(pair_d) else 1.0, 1.0)
    z_s = batch_source[z_batch] if count_z else z_batch
    vs = usable * (batch_vs[z_batch] if count_z else 0.0)
    slurry = usable * (batch_slurry[z_batch] if count_z else 0.0)

    feed_cap = np.array(
        [[c.feed_g / KG for c in d.caps] for d in problem.digesters], dtype=float
    ).reshape(count_d, days)
    vs_cap = np.array(
        [[c.vs_g / KG for c in d.caps] for d in problem.digesters], dtype=float
    ).reshape(count_d, days)
    slurry_cap = np.array(
        [[c.slurry_ml / KG for c in d.caps] for d in problem.digesters], dtype=float
    ).reshape(count_d, days)
    bin_kg = np.array([d.bin_g / KG for d in problem.digesters], dtype=float)
    carry = np.array([d.carry_limit_g / KG for d in problem.digesters], dtype=float)
    least_kg = np.array([d.min_pickup_g / KG for d in problem.digesters], dtype=float)

    def eatable() -> Floats:
        """The most of each flow that its feed day can take (kg)."""
        with np.errstate(divide="ignore", invalid="ignore"):
            limits = [
                np.where(usable > 0, feed_cap[z_d, z_df] / usable, np.inf),
                np.where(vs > 0, vs_cap[z_d, z_df] / vs, np.inf),
                np.where(slurry > 0, slurry_cap[z_d, z_df] / slurry, np.inf),
                np.where(usable > 0, bin_kg[z_d] / usable, np.inf),
            ]
        return np.asarray(np.minimum.reduce(limits))

    z_upper = np.minimum(eatable(), batch_kg[z_batch]) if count_z else _full(0, 0.0)
    if count_z:
        by_home = np.argsort(z_d, kind="stable")
        starts = np.searchsorted(z_d[by_home], np.arange(count_d + 1))
        for (h, group, basis), by_day in _share_limits(problem, feed_cap, vs_cap).items():
            mine = by_home[starts[h] : starts[h + 1]]
            mine = mine[in_group[group][z_batch[mine]]]
            unit = vs[mine] if basis == "vs" else usable[mine]
            with np.errstate(divide="ignore", invalid="ignore"):
                limit = np.where(unit > 0, by_day[z_df[mine]] / unit, np.inf)
            z_upper[mine] = np.minimum(z_upper[mine], limit)

    # Visits, and what goes with one (batch, digester, collection day).
    visit_keys = np.stack([z_s, z_d, z_dc], axis=1) if count_z else np.zeros((0, 3), np.int64)
    visit_list, z_visit = np.unique(visit_keys, axis=0, return_inverse=True)
    z_visit = z_visit.reshape(-1)
    part_keys = np.stack([z_batch, z_d, z_dc], axis=1) if count_z else np.zeros((0, 3), np.int64)
    part_list, part_first, z_part = np.unique(
        part_keys, axis=0, return_index=True, return_inverse=True
    )
    z_part = z_part.reshape(-1)
    count_v, count_p = len(visit_list), len(part_list)
    part_visit = z_visit[part_first] if count_p else part_first
    part_whole = ~divisible[part_list[:, 0]] if count_p else np.zeros(0, dtype=bool)
    parts_in_visit = np.bincount(part_visit, minlength=count_v)
    alone = part_whole & (parts_in_visit[part_visit] == 1) if count_p else part_whole

    next_column = count_z
    visit_column = np.arange(next_column, next_column + count_v)
    next_column += count_v
    # An indivisible batch alone in its visit shares the visit's column.
    part_column = np.full(count_p, -1, dtype=np.int64)
    part_column[alone] = visit_column[part_visit[alone]]
    own_column = part_whole & ~alone
    part_column[own_column] = np.arange(next_column, next_column + own_column.sum())
    whole_extra = int(own_column.sum())
    next_column += whole_extra

    stock_columns: list[tuple[int, int, int, int]] = []
    for h, digester in enumerate(problem.digesters):
        for lot_index, lot in enumerate(digester.stock):
            for day in range(min(days - 1, lot.feed_by_day) + 1):
                stock_columns.append((h, lot_index, day, next_column))
                next_column += 1
    below_column = np.arange(next_column, next_column + count_d)
    next_column += count_d
    pieces = len(SHORTFALL_PIECES)
    short_column = np.arange(next_column, next_column + count_d * pieces).reshape(count_d, pieces)
    next_column += count_d * pieces
    supplied = set(batch_source.tolist())
    overdue = [
        s
        for s, source in enumerate(problem.sources)
        if s in supplied
        and (
            source.waited_days is None or source.waited_days + days > problem.rules.rota_limit_days
        )
    ]
    overdue_column = np.arange(next_column, next_column + len(overdue))
    next_column += len(overdue)
    change_column = next_column
    next_column += 1
    count = next_column

    lower, upper = _full(count, 0.0), _full(count, np.inf)
    integral = np.zeros(count, dtype=bool)
    home = np.full(count, -1, dtype=np.int64)
    costs = np.zeros((len(WISHES), count))
    offsets = np.zeros(len(WISHES))
    upper[:count_z] = z_upper
    home[:count_z] = z_d
    upper[visit_column] = 1.0
    integral[visit_column] = True
    home[visit_column] = visit_list[:, 1]
    upper[part_column[own_column]] = 1.0
    integral[part_column[own_column]] = True
    home[part_column[own_column]] = part_list[own_column, 1]
    upper[overdue_column] = 1.0
    upper[change_column] = count_v + len(problem.previous)
    home[below_column] = np.arange(count_d)
    home[short_column] = np.arange(count_d)[:, None]

    rows = _Rows()
    z_cols = np.arange(count_z)
    one_z = np.ones(count_z)
    room_z = np.where(divisible[z_batch], room_g / KG, 0.0) if count_z else one_z

    # 2. Batches.
    first = rows.open(_full(count_b, -np.inf), batch_kg)
    rows.put(first + z_batch, z_cols, one_z)
    if part_whole.any():
        first = rows.open(_full(count_b, -np.inf), _full(count_b, 1.0))
        rows.put(
            first + part_list[part_whole, 0], part_column[part_whole], np.ones(part_whole.sum())
        )
        first = rows.open(_full(count_p, 0.0), np.where(part_whole, 0.0, np.inf))
        chosen = part_whole[z_part]
        rows.put(first + z_part[chosen], z_cols[chosen], one_z[chosen])
        rows.put(
            first + np.flatnonzero(part_whole),
            part_column[part_whole],
            -batch_kg[part_list[part_whole, 0]],
        )

    # 3. Caps of each digester-day; the rounding room is the most any one flow asks for.
    stock = np.array(stock_columns, dtype=np.int64).reshape(-1, 4)
    stock_vs = np.zeros(len(stock))
    stock_slurry = np.zeros(len(stock))
    for i, (h, lot_index, _, _) in enumerate(stock_columns):
        material = materials[problem.digesters[h].stock[lot_index].material]
        stock_vs[i], stock_slurry[i] = material.vs_ppm / PPM, material.slurry_ppm / PPM
    day_key = z_d * days + z_df
    stock_key = stock[:, 0] * days + stock[:, 2]
    home[stock[:, 3]] = stock[:, 0]
    for weight, stock_weight, cap in (
        (usable, np.ones(len(stock)), feed_cap),
        (vs, stock_vs, vs_cap),
        (slurry, stock_slurry, slurry_cap),
    ):
        room = np.zeros(count_d * days)
        np.maximum.at(room, day_key, weight * room_z)
        limit = np.maximum(cap.reshape(-1) - room, np.minimum(cap.reshape(-1), 0.0))
        first = rows.open(_full(count_d * days, -np.inf), limit)
        rows.put(first + day_key, z_cols, weight)
        rows.put(first + stock_key, stock[:, 3], stock_weight)

    # Stock lots.
    lot_of: dict[tuple[int, int], int] = {}
    for h, lot_index, _, _ in stock_columns:
        lot_of.setdefault((h, lot_index), len(lot_of))
    lot_kg = np.array([problem.digesters[h].stock[i].amount_g / KG for h, i in lot_of])
    first = rows.open(_full(len(lot_of), -np.inf), lot_kg.reshape(-1))
    stock_lot = np.array([lot_of[h, i] for h, i, _, _ in stock_columns], dtype=np.int64)
    upper[stock[:, 3]] = lot_kg[stock_lot]
    rows.put(first + stock_lot, stock[:, 3], np.ones(len(stock)))
    spoils = np.array(
        [problem.digesters[h].stock[i].feed_by_day < days for h, i, _, _ in stock_columns],
        dtype=bool,
    )
    costs[LEFT, stock[spoils, 3]] = -1.0
    for h, i in lot_of:
        lot = problem.digesters[h].stock[i]
        if lot.feed_by_day < days:
            offsets[LEFT] += lot.amount_g / KG

    # 5. Bin: everything that lies in it on a day, before feeding.
    alive = np.zeros((count_d, days))
    for (h, i), _row in lot_of.items():
        lot = problem.digesters[h].stock[i]
        alive[h, : lot.feed_by_day + 1] += lot.amount_g / KG
    over_full = alive > bin_kg[:, None] + 1e-9
    spans = z_df - z_dc + 1
    span_cols = np.repeat(z_cols, spans)
    span_days = (
        np.concatenate([np.arange(a, b + 1) for a, b in zip(z_dc, z_df, strict=True)])
        if count_z
        else span_cols
    )
    if over_full.any():
        upper[span_cols[over_full[z_d[span_cols], span_days]]] = 0.0
    room = np.zeros(count_d * days)
    np.maximum.at(room, z_d[span_cols] * days + span_days, (usable * room_z)[span_cols])
    limit = np.where(over_full, np.inf, bin_kg[:, None] - alive).reshape(-1)
    limit = np.maximum(limit - room, np.minimum(limit, 0.0))
    first = rows.open(_full(count_d * days, -np.inf), limit)
    rows.put(first + z_d[span_cols] * days + span_days, span_cols, usable[span_cols])
    for h, i, day, column in stock_columns:
        last = min(problem.digesters[h].stock[i].feed_by_day, days - 1)
        later = np.arange(day + 1, last + 1)
        rows.put(first + h * days + later, _repeat(column, later), _full(len(later), -1.0))

    # 6. Visits.
    started_visits = {(int(batch_source[b]), d, day) for b, d, day in started_keys}
    visit_cap = _visit_caps(
        z_visit, z_upper, part_list, part_visit, batch_kg, usable[part_first], carry, bin_kg, z_part
    )
    exempt = np.array(
        [tuple(key) in started_visits for key in visit_list.tolist()], dtype=bool
    ).reshape(-1)
    least = np.where(exempt, 0.0, least_kg[visit_list[:, 1]])
    started_kg = _full(count_v, 0.0)
    visit_index = {tuple(key): i for i, key in enumerate(visit_list.tolist())}
    for begun in started_keys:
        at = visit_index[int(batch_source[begun[0]]), begun[1], begun[2]]
        started_kg[at] += fixed[begun][0] / KG
    visit_cap = np.where(exempt, np.maximum(visit_cap, started_kg), visit_cap)
    whole_in_visit = np.zeros(count_v, dtype=bool)
    whole_in_visit[part_visit[part_whole]] = True
    hopeless = (visit_cap < least - 1e-9) & ~whole_in_visit
    upper[visit_column[hopeless]] = 0.0
    not_alone = np.ones(count_v, dtype=bool)
    not_alone[part_visit[alone]] = False
    first = rows.open(_full(count_v, -np.inf), _full(count_v, 0.0))
    linked = not_alone[z_visit]
    rows.put(first + z_visit[linked], z_cols[linked], one_z[linked])
    rows.put(
        (first + np.arange(count_v))[not_alone], visit_column[not_alone], -visit_cap[not_alone]
    )
    too_heavy = (
        ~not_alone
        & ~exempt
        & (visit_cap * (1 + 1e-12) < _whole_kg(count_v, part_visit, alone, part_list, batch_kg))
    )
    upper[visit_column[too_heavy]] = 0.0
    first = rows.open(_full(count_v, 0.0), _full(count_v, np.inf))
    rows.put(first + z_visit[linked], z_cols[linked], one_z[linked])
    rows.put((first + np.arange(count_v))[not_alone], visit_column[not_alone], -least[not_alone])
    if own_column.any():
        rows.put(
            first + part_visit[own_column],
            part_column[own_column],
            least[part_visit[own_column]],
        )
        again = rows.open(_full(whole_extra, -np.inf), _full(whole_extra, 0.0))
        rows.put(again + np.arange(whole_extra), part_column[own_column], np.ones(whole_extra))
        rows.put(
            again + np.arange(whole_extra),
            visit_column[part_visit[own_column]],
            _full(whole_extra, -1.0),
        )
    for owner, limits in (
        (visit_list[:, 0], [s.max_homes_per_day for s in problem.sources]),
        (visit_list[:, 1], [d.max_visits_per_day for d in problem.digesters]),
    ):
        owner_day = np.asarray(owner * days + visit_list[:, 2])
        most = np.repeat(np.array(limits, dtype=float), days)
        forced = np.bincount(owner_day[exempt], minlength=len(most))
        first = rows.open(_full(len(most), -np.inf), np.maximum(most, forced))
        rows.put(first + owner_day, visit_column, np.ones(count_v))

    # 8. Pins and started pickups.
    part_index = {tuple(key): i for i, key in enumerate(part_list.tolist())}
    for key, (at_least, at_most) in sorted(fixed.items()):
        if key not in part_index:
            continue
        part = part_index[key]
        first = rows.open(np.array([at_least / KG]), np.array([at_most / KG]))
        mine = np.flatnonzero(z_part == part)
        rows.put(_repeat(first, mine), mine, np.ones(len(mine)))
        lower[visit_column[part_visit[part]]] = 1.0
        upper[visit_column[part_visit[part]]] = 1.0

    # 4. Shares.
    _put_shares(
        rows, problem, z_d, z_df, usable, z_batch, stock_columns, upper, divisible, room_g, in_group
    )

    # Wishes.
    z_vs_grams = vs
    least_vs = np.array([d.min_vs_g / KG for d in problem.digesters], dtype=float)
    # A few grams more than the minimum, for what rounding takes off.
    first = rows.open(np.where(least_vs > 0, least_vs + room_g / KG, 0.0), _full(count_d, np.inf))
    rows.put(first + z_d, z_cols, z_vs_grams)
    rows.put(first + stock[:, 0], stock[:, 3], stock_vs)
    rows.put(first + np.arange(count_d), below_column, np.ones(count_d))
    upper[below_column] = least_vs + room_g / KG
    target = np.array([sum(d.target_vs_g) / KG for d in problem.digesters], dtype=float)
    spare = np.where(target > 0, room_g / KG, 0.0)
    first = rows.open(target + spare, _full(count_d, np.inf))
    rows.put(first + z_d, z_cols, z_vs_grams)
    rows.put(first + stock[:, 0], stock[:, 3], stock_vs)
    begin = 0
    for piece, (end, weight_) in enumerate(SHORTFALL_PIECES):
        missing = short_column[:, piece]
        rows.put(first + np.arange(count_d), missing, np.ones(count_d))
        upper[missing] = target * (end - begin) / PPM + (spare if end == PPM else 0.0)
        costs[SHORTFALL, missing] = weight_
        begin = end
    costs[BELOW, below_column] = 1.0
    costs[OVERDUE, overdue_column] = 1.0
    if overdue:
        row_of = np.full(len(problem.sources), -1, dtype=np.int64)
        row_of[overdue] = np.arange(len(overdue))
        first = rows.open(_full(len(overdue), 1.0), _full(len(overdue), np.inf))
        waiting = row_of[visit_list[:, 0]] >= 0
        rows.put(
            first + row_of[visit_list[waiting, 0]], visit_column[waiting], np.ones(waiting.sum())
        )
        rows.put(first + np.arange(len(overdue)), overdue_column, np.ones(len(overdue)))
    if problem.rules.change_budget is not None:
        before = {
            (source_at[problem.batches[batch_at[p.batch]].source], digester_at[p.digester], p.day)
            for p in problem.previous
            if p.batch in batch_at and p.digester in digester_at
        }
        was = np.array([tuple(key) in before for key in visit_list.tolist()], dtype=bool).reshape(
            -1
        )
        gone = len(before) - int(was.sum())
        first = rows.open(
            np.array([-np.inf]),
            np.array([float(problem.rules.change_budget - gone - int(was.sum()))]),
        )
        rows.put(_repeat(first, visit_column), visit_column, np.where(was, -1.0, 1.0))
        rows.put(np.array([first]), np.array([change_column]), np.array([-1.0]))
        costs[CHANGES, change_column] = 1.0
    costs[LEFT, :count_z] = -1.0
    offsets[LEFT] += float(batch_kg.sum())
    distance = np.array([p.distance_m / KG for p in problem.pairs], dtype=float)
    z_km = np.where(z_pair >= 0, distance[z_pair] if len(distance) else 0.0, 0.0)
    costs[CARRYING, :count_z] = z_km
    costs[CARRYING, visit_column] = TRIP_G_M / 1e6
    steady = {(source_at[p.source], digester_at[p.digester]) for p in problem.pairs if p.steady}
    costs[UNSTEADY, visit_column] = [
        0.0 if (s, d) in steady else 1.0 for s, d in visit_list[:, :2].tolist()
    ]
    fills = [d.recent_fill_ppm for d in problem.digesters]
    mean_fill = sum(fills) // len(fills) if fills else 0
    ahead = np.array([max(0, fill - mean_fill) / PPM for fill in fills], dtype=float)
    costs[UNFAIR, :count_z] = vs * (ahead[z_d] if count_z else 0.0)
    if len(stock):
        costs[UNFAIR, stock[:, 3]] = stock_vs * ahead[stock[:, 0]]

    matrix = sparse.coo_matrix(
        (
            np.concatenate(rows.values),
            (np.concatenate(rows.rows), np.concatenate(rows.cols)),
        ),
        shape=(rows.count, count),
    ).tocsc()
    return Model(
        problem=problem,
        matrix=matrix,
        row_lower=np.concatenate(rows.lower),
        row_upper=np.concatenate(rows.upper),
        lower=lower,
        upper=np.maximum(upper, lower),
        integral=integral,
        costs=costs,
        offsets=offsets,
        home=home,
        flows=Flows(z_batch, z_d, z_pair, z_dc, z_df, z_visit, usable, vs),
        visits=Visits(
            visit_column, visit_list[:, 0], visit_list[:, 1], visit_list[:, 2], visit_cap
        ),
        stock_columns=tuple(stock_columns),
        whole={
            tuple(part_list[p].tolist()): int(part_column[p]) for p in np.flatnonzero(part_whole)
        },
        home_columns=_columns_by_home(
            home,
            visit_list,
            dict(zip(overdue, overdue_column.tolist(), strict=True)),
            change_column,
        ),
    )


def _columns_by_home(
    home: Ints, visit_list: Ints, overdue: dict[int, int], change_column: int
) -> tuple[Ints, ...]:
    count = int(home.max()) + 1 if len(home) else 0
    order = np.argsort(home, kind="stable")
    starts = np.searchsorted(home[order], np.arange(count + 1))
    waiting: list[set[int]] = [set() for _ in range(count)]
    for s, h in np.unique(visit_list[:, :2], axis=0).tolist():
        if s in overdue:
            waiting[h].add(overdue[s])
    return tuple(
        np.concatenate(
            [
                order[starts[h] : starts[h + 1]],
                np.array([*sorted(waiting[h]), change_column], dtype=np.int64),
            ]
        )
        for h in range(count)
    )


def _share_limits(
    problem: Problem, feed_cap: Floats, vs_cap: Floats
) -> dict[tuple[int, str, str], Floats]:
    """The most of a capped group each day can take (kg, or kg VS by basis), the day being full.

    Implied by the rows of caps and shares together; as a bound on flows it makes the
    relaxation much tighter (a canteen's pot needs more homes than a source may serve)."""
    materials = {m.code: m for m in problem.materials}
    out: dict[tuple[int, str, str], Floats] = {}
    for h, digester in enumerate(problem.digesters):
        for cap in digester.share_caps:
            by_day = np.zeros(problem.days)
            for day in range(problem.days):
                own_all = own_group = 0.0
                for own in digester.own_waste:
                    if own.day == day:
                        material = materials[own.material]
                        amount = own.amount_g / KG
                        amount *= material.vs_ppm / PPM if cap.basis == "vs" else 1.0
                        own_all += amount
                        own_group += amount if cap.group in material.share_groups else 0.0
                full = vs_cap[h, day] if cap.basis == "vs" else feed_cap[h, day]
                by_day[day] = max(0.0, cap.share_ppm / PPM * (full + own_all) - own_group)
            out[h, cap.group, cap.basis] = by_day
    return out


def _repeat(value: int, like: Ints) -> Ints:
    return np.full(len(like), value, dtype=np.int64)


def _whole_kg(
    count_v: int, part_visit: Ints, alone: Bools, part_list: Ints, batch_kg: Floats
) -> Floats:
    amount = np.zeros(count_v)
    amount[part_visit[alone]] = batch_kg[part_list[alone, 0]]
    return amount


def _visit_caps(
    z_visit: Ints,
    z_upper: Floats,
    part_list: Ints,
    part_visit: Ints,
    batch_kg: Floats,
    part_usable: Floats,
    carry: Floats,
    bin_kg: Floats,
    z_part: Ints,
) -> Floats:
    """The most a visit can bring (kg): carrying, bin, what is offered, what can be eaten."""
    count_v, count_p = (int(part_visit.max()) + 1 if len(part_visit) else 0), len(part_list)
    eaten = np.bincount(z_part, weights=z_upper, minlength=count_p)
    with np.errstate(divide="ignore"):
        held = np.where(part_usable > 0, bin_kg[part_list[:, 1]] / part_usable, np.inf)
    part_cap = np.minimum(np.minimum(eaten, held), batch_kg[part_list[:, 0]])
    offered = np.bincount(part_visit, weights=part_cap, minlength=count_v)
    home_of = np.zeros(count_v, dtype=np.int64)
    home_of[part_visit] = part_list[:, 1]
    return np.minimum(offered, carry[home_of])


def _list_flows(
    problem: Problem,
    digester_at: dict[str, int],
    started: set[tuple[int, int, int]],
) -> Ints:
    """All (batch, pair, collect day, feed day) that hours, reach, bans and materials allow."""
    days = problem.days
    banned_always = {(b.source, b.digester) for b in problem.bans if b.day is None}
    banned_on = defaultdict(set)
    for ban in problem.bans:
        if ban.day is not None:
            banned_on[ban.source, ban.digester].add(ban.day)
    pairs_of: dict[str, list[tuple[int, Digester, tuple[bool, ...]]]] = defaultdict(list)
    listed_pairs: dict[tuple[str, str], int] = {}
    for i, pair in enumerate(problem.pairs):
        listed_pairs[pair.source, pair.digester] = i
        if (pair.source, pair.digester) in banned_always:
            continue
        closed = banned_on.get((pair.source, pair.digester), set())
        open_days = tuple(bool(pair.meets_on_day[day]) and day not in closed for day in range(days))
        if any(open_days):
            pairs_of[pair.source].append(
                (i, problem.digesters[digester_at[pair.digester]], open_days)
            )
    out: list[tuple[int, int, int, int]] = []
    for b, batch in enumerate(problem.batches):
        collect = range(max(0, batch.ready_day), min(batch.collect_by_day, days - 1) + 1)
        last = min(batch.feed_by_day, days - 1)
        for i, digester, open_days in pairs_of.get(batch.source, ()):
            if batch.material not in digester.accepts:
                continue
            for day in collect:
                if open_days[day]:
                    out.extend((b, i, day, feed) for feed in range(day, last + 1))
    have = {(row[0], row[1], row[2]) for row in out} if started else set()
    for b, d, day in sorted(started):
        batch = problem.batches[b]
        at = listed_pairs.get((batch.source, problem.digesters[d].code), -1 - d)
        if (b, at, day) not in have:
            last = min(batch.feed_by_day, days - 1)
            out.extend((b, at, day, feed) for feed in range(day, last + 1))
    return np.array(out, dtype=np.int64).reshape(-1, 4)


def _put_shares(
    rows: _Rows,
    problem: Problem,
    z_d: Ints,
    z_df: Ints,
    usable: Floats,
    z_batch: Ints,
    stock_columns: list[tuple[int, int, int, int]],
    upper: Floats,
    divisible: Bools,
    room_g: int,
    in_group: dict[str, Bools],
) -> None:
    """Rows of limit 4: group's part of the day, own kitchen waste included."""
    materials = {m.code: m for m in problem.materials}
    material_of = [materials[b.material] for b in problem.batches]
    by_home: dict[int, list[int]] = defaultdict(list)
    for column, (h, _, _, _) in enumerate(stock_columns):
        by_home[h].append(column)
    order = np.argsort(z_d, kind="stable")
    starts = np.searchsorted(z_d[order], np.arange(len(problem.digesters) + 1))
    vs_of = np.array([m.vs_ppm / PPM for m in material_of], dtype=float)
    for h, digester in enumerate(problem.digesters):
        mine = order[starts[h] : starts[h + 1]]
        for cap in digester.share_caps:
            share = cap.share_ppm / PPM
            weight = usable[mine] * (vs_of[z_batch[mine]] if cap.basis == "vs" else 1.0)
            member = in_group[cap.group][z_batch[mine]] if len(mine) else np.zeros(0, dtype=bool)
            for day in range(problem.days):
                own_all = own_group = 0
                for own in digester.own_waste:
                    if own.day != day:
                        continue
                    material = materials[own.material]
                    grams = own.amount_g * (material.vs_ppm if cap.basis == "vs" else PPM)
                    own_all += grams
                    own_group += grams if cap.group in material.share_groups else 0
                today = z_df[mine] == day
                room = cap.share_ppm * own_all - own_group * PPM
                if room < 0:
                    upper[mine[today & member]] = 0.0
                    for i in by_home[h]:
                        _, lot_index, lot_day, column = stock_columns[i]
                        lot_material = materials[digester.stock[lot_index].material]
                        if lot_day == day and cap.group in lot_material.share_groups:
                            upper[column] = 0.0
                    continue
                columns = [mine[today]]
                values = [weight[today] * (member[today].astype(float) - share)]
                for i in by_home[h]:
                    _, lot_index, lot_day, column = stock_columns[i]
                    if lot_day != day:
                        continue
                    material = materials[digester.stock[lot_index].material]
                    unit = material.vs_ppm / PPM if cap.basis == "vs" else 1.0
                    part = 1.0 if cap.group in material.share_groups else 0.0
                    columns.append(np.array([column]))
                    values.append(np.array([unit * (part - share)]))
                free = room / PPM / PPM / KG
                loose = bool(divisible[z_batch[mine[today]]].any()) if today.any() else False
                limit = free - (2 * room_g / KG if loose else 0.0)
                first = rows.open(np.array([-np.inf]), np.array([max(limit, 0.0)]))
                together = np.concatenate(columns)
                rows.put(_repeat(first, together), together, np.concatenate(values))
