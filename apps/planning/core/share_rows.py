"""Rows of limit 4: a capped group's part of the day, own kitchen waste included."""

from __future__ import annotations

from collections import defaultdict

import numpy as np

from apps.planning.core.layout import Layout
from apps.planning.core.model import KG, Bools, Floats, Ints
from apps.planning.core.problem import PPM, Digester, ShareCap
from apps.planning.core.rows import Rows


def put_shares(rows: Rows, it: Layout, upper: Floats) -> None:
    figures, flows = it.figures, it.flows
    stock_of: dict[tuple[int, int], list[int]] = defaultdict(list)
    for number, (h, _, day) in enumerate(it.stock.keys.tolist()):
        stock_of[h, day].append(number)
    order = np.argsort(flows.digester, kind="stable")
    starts = np.searchsorted(flows.digester[order], np.arange(figures.homes + 1))
    for h, digester in enumerate(figures.problem.digesters):
        mine = order[starts[h] : starts[h + 1]]
        batch = flows.batch[mine]
        for cap in digester.share_caps:
            unit = figures.batch_vs[batch] if cap.basis == "vs" else 1.0
            load = flows.usable[mine] * unit
            member = figures.in_group[cap.group][batch] if len(mine) else np.zeros(0, dtype=bool)
            for day in range(figures.days):
                today = flows.feed_day[mine] == day
                _put_day(
                    rows,
                    it,
                    upper,
                    digester,
                    cap,
                    day,
                    (mine[today], load[today], member[today]),
                    stock_of[h, day],
                )


def _put_day(
    rows: Rows,
    it: Layout,
    upper: Floats,
    digester: Digester,
    cap: ShareCap,
    day: int,
    flows: tuple[Ints, Floats, Bools],
    stock: list[int],
) -> None:
    columns, loads, members = flows
    figures, share = it.figures, cap.share_ppm / PPM
    materials = [
        figures.materials[digester.stock[it.stock.keys[number, 1]].material] for number in stock
    ]
    belongs = np.array([cap.group in m.share_groups for m in materials], dtype=bool)
    lots = it.stock.column[np.array(stock, dtype=np.int64)]
    room = _own_room(it, digester, cap, day)
    if room < 0:  # Own waste alone passes the cap: nothing of the group.
        upper[columns[members]] = 0.0
        upper[lots[belongs]] = 0.0
        return
    divisible = figures.divisible[it.flows.batch[columns]].any()
    limit = room / PPM / PPM / KG - (2 * it.room_g / KG if divisible else 0.0)
    first = rows.under(np.array([max(limit, 0.0)]))
    rows.put(first, columns, loads * (members.astype(float) - share))
    units = [m.vs_ppm / PPM if cap.basis == "vs" else 1.0 for m in materials]
    rows.put(first, lots, np.array(units, dtype=float) * (belongs.astype(float) - share))


def _own_room(it: Layout, digester: Digester, cap: ShareCap, day: int) -> int:
    """What own waste leaves to the group beyond the plan's own feed, in g * PPM * PPM."""
    own_all = own_group = 0
    for own in digester.own_waste:
        if own.day == day:
            material = it.figures.materials[own.material]
            grams = own.amount_g * (material.vs_ppm if cap.basis == "vs" else PPM)
            own_all += grams
            own_group += grams if cap.group in material.share_groups else 0
    return cap.share_ppm * own_all - own_group * PPM
