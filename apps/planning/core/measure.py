"""The wishes of a plan, measured exactly from its placements and feeds (whole numbers)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from apps.planning.core.problem import PPM, Placement, Problem
from apps.planning.core.result import SHORTFALL_PIECES, Feed, LeftOver


def measure_wishes(
    problem: Problem, placements: Sequence[Placement], feeds: Sequence[Feed]
) -> tuple[float, ...]:
    """Values of `result.WISHES` in their order and units."""
    batches = {b.code: b for b in problem.batches}
    materials = {m.code: m for m in problem.materials}
    pairs = {(p.source, p.digester): p for p in problem.pairs}
    stock = {(d.code, lot.code): lot for d in problem.digesters for lot in d.stock}
    fed: dict[str, int] = defaultdict(int)
    sure: dict[str, int] = defaultdict(int)
    stock_fed: dict[tuple[str, str], int] = defaultdict(int)
    for feed in feeds:
        lot = stock.get((feed.digester, feed.lot))
        if lot is None:
            batch = batches[feed.lot]
            pair = pairs.get((batch.source, feed.digester))
            usable = PPM if pair is None else pair.usable_ppm
            vs_ppm, sure_ppm = materials[batch.material].vs_ppm, batch.sure_ppm
        else:
            usable, vs_ppm, sure_ppm = PPM, materials[lot.material].vs_ppm, PPM
            stock_fed[feed.digester, feed.lot] += feed.amount_g
        fed[feed.digester] += feed.amount_g * usable * vs_ppm
        sure[feed.digester] += feed.amount_g * usable * vs_ppm * sure_ppm

    below = shortfall = unfair = 0
    unit = PPM**3
    fills = [d.recent_fill_ppm for d in problem.digesters]
    mean_fill = sum(fills) // len(fills) if fills else 0
    for digester in problem.digesters:
        got = sure[digester.code]
        below += max(0, digester.min_vs_g * unit - got)
        unfair += fed[digester.code] * max(0, digester.recent_fill_ppm - mean_fill)
        target, begin = sum(digester.target_vs_g) * unit, 0
        for end, weight in SHORTFALL_PIECES:
            piece = target * (end - begin) // PPM
            filled = min(max(got - target * begin // PPM, 0), piece)
            shortfall += weight * (piece - filled)
            begin = end
    visits = {(batches[p.batch].source, p.digester, p.day) for p in placements}
    visited = {source for source, _, _ in visits}
    offering = {b.source for b in problem.batches}
    overdue = sum(
        1
        for source in problem.sources
        if source.code in offering
        and source.code not in visited
        and (
            source.waited_days is None
            or source.waited_days + problem.days > problem.rules.rota_limit_days
        )
    )
    changes = 0
    if problem.rules.change_budget is not None:
        before = {
            (batches[p.batch].source, p.digester, p.day)
            for p in problem.previous
            if p.batch in batches
        }
        changes = max(0, len(before ^ visits) - problem.rules.change_budget)
    left = sum(entry.amount_g for entry in list_left_over(problem, placements, feeds))
    carrying = problem.rules.trip_g_m * len(visits)
    for placement in placements:
        pair = pairs.get((batches[placement.batch].source, placement.digester))
        carrying += placement.amount_g * (0 if pair is None else pair.distance_m)
    unsteady = 0
    for source_code, digester_code, _ in visits:
        pair = pairs.get((source_code, digester_code))
        unsteady += 1 if pair is None or not pair.steady else 0
    return (
        below / unit,
        float(overdue),
        float(changes),
        shortfall * 1000 / unit,
        float(left),
        float(carrying),
        float(unsteady),
        unfair * 1000 / unit,
    )


def list_left_over(
    problem: Problem, placements: Sequence[Placement], feeds: Sequence[Feed]
) -> tuple[LeftOver, ...]:
    """Every batch's unplaced grams and every spoiling stock lot's unfed ones, by code."""
    placed: dict[str, int] = defaultdict(int)
    for placement in placements:
        placed[placement.batch] += placement.amount_g
    fed: dict[tuple[str, str], int] = defaultdict(int)
    for feed in feeds:
        fed[feed.digester, feed.lot] += feed.amount_g
    out = [
        LeftOver(batch.code, batch.amount_g - placed[batch.code])
        for batch in problem.batches
        if batch.amount_g > placed[batch.code]
    ]
    for digester in problem.digesters:
        for lot in digester.stock:
            missing = lot.amount_g - fed[digester.code, lot.code]
            if lot.feed_by_day < problem.days and missing > 0:
                out.append(LeftOver(lot.code, missing))
    return tuple(sorted(out, key=lambda entry: (entry.batch, entry.amount_g)))
