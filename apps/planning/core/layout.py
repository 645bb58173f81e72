"""Where each kind of column of a model is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from apps.planning.core.figures import Figures
from apps.planning.core.flow_columns import Fixed, FlowTable, fix_parts, list_flows
from apps.planning.core.model import KG, Floats, Ints
from apps.planning.core.problem import PPM
from apps.planning.core.result import SHORTFALL_PIECES
from apps.planning.core.visit_columns import VisitTable, list_visits


@dataclass(frozen=True)
class Stock:
    """Stock fed on a day: a column each. `lot`: its number among all lots, whose amounts are
    `lot_kg`; `keys`: (digester, lot index, day) of each column."""

    keys: Ints
    column: Ints
    vs: Floats
    slurry: Floats
    lot: Ints
    lot_kg: Floats
    spoils: Ints
    """Columns of lots whose time ends inside the horizon, and all these lots' kilograms."""
    spoiling_kg: float


@dataclass(frozen=True)
class Layout:
    """Columns in order: flows, visits, whole parts, stock, then the wishes' own."""

    figures: Figures
    room_g: int
    fixed: Fixed
    flows: FlowTable
    visits: VisitTable
    stock: Stock
    below: Ints
    short: Ints
    """A row a digester, a column a piece of the target."""
    overdue: dict[int, int]
    """By source that waits too long, its column."""
    change: int

    @property
    def count(self) -> int:
        return self.change + 1


def lay_out(figures: Figures, room_g: int) -> Layout:
    fixed = fix_parts(figures)
    flows = list_flows(figures, fixed, room_g)
    visits = list_visits(figures, flows, fixed)
    stock = _list_stock(figures, visits.next_column)
    at, homes, pieces = visits.next_column + len(stock.keys), figures.homes, len(SHORTFALL_PIECES)
    below = np.arange(at, at + homes)
    at += homes
    short = np.arange(at, at + homes * pieces).reshape(homes, pieces)
    at += homes * pieces
    overdue = {source: at + i for i, source in enumerate(_overdue_sources(figures))}
    change = at + len(overdue)
    return Layout(figures, room_g, fixed, flows, visits, stock, below, short, overdue, change)


def _overdue_sources(figures: Figures) -> list[int]:
    """Sources with something to give that would wait past the rota's limit."""
    problem = figures.problem
    supplied = set(figures.batch_source.tolist())
    return [
        s
        for s, source in enumerate(problem.sources)
        if s in supplied
        and (
            source.waited_days is None
            or source.waited_days + problem.days > problem.rules.rota_limit_days
        )
    ]


def _list_stock(figures: Figures, first: int) -> Stock:
    days = figures.days
    keys: list[tuple[int, int, int]] = []
    lot: list[int] = []
    vs: list[float] = []
    slurry: list[float] = []
    lot_kg: list[float] = []
    spoils: list[int] = []
    spoiling_kg = 0.0
    for h, digester in enumerate(figures.problem.digesters):
        for i, each in enumerate(digester.stock):
            material = figures.materials[each.material]
            if each.feed_by_day < 0:
                continue
            if each.feed_by_day < days:
                spoiling_kg += each.amount_g / KG
            for day in range(min(days - 1, each.feed_by_day) + 1):
                if each.feed_by_day < days:
                    spoils.append(first + len(keys))
                keys.append((h, i, day))
                lot.append(len(lot_kg))
                vs.append(material.vs_ppm / PPM)
                slurry.append(material.slurry_ppm / PPM)
            lot_kg.append(each.amount_g / KG)
    return Stock(
        keys=np.array(keys, dtype=np.int64).reshape(-1, 3),
        column=np.arange(first, first + len(keys)),
        vs=np.array(vs, dtype=float),
        slurry=np.array(slurry, dtype=float),
        lot=np.array(lot, dtype=np.int64),
        lot_kg=np.array(lot_kg, dtype=float),
        spoils=np.array(spoils, dtype=np.int64),
        spoiling_kg=spoiling_kg,
    )
