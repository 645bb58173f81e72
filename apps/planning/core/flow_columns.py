"""The flow columns: a batch to a digester, collected on one day and fed on one day."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

import numpy as np

from apps.planning.core.figures import Figures
from apps.planning.core.model import KG, Floats, Ints
from apps.planning.core.problem import PPM, Digester
from apps.planning.core.rows import full

PartKey = tuple[int, int, int]
"""(batch, digester, collection day)."""


@dataclass(frozen=True)
class Fixed:
    """Parts that pins and started pickups settle: the least and the most grams of each."""

    amounts: dict[PartKey, tuple[int, int]]
    started: frozenset[PartKey]


@dataclass(frozen=True)
class FlowTable:
    """One entry a flow. `vs`, `slurry`, `usable`: its load on the digester a kilogram;
    `sure_vs`: the VS that surely comes; `in_bin`: what the bin must have room for; `room_kg`:
    what rows over it keep free for rounding; `most_kg`: what one day can take."""

    batch: Ints
    pair: Ints
    """Where a started pickup lies outside the listed pairs: -1 - digester."""
    collect_day: Ints
    feed_day: Ints
    digester: Ints
    usable: Floats
    vs: Floats
    slurry: Floats
    sure_vs: Floats
    in_bin: Floats
    room_kg: Floats
    most_kg: Floats


def fix_parts(figures: Figures) -> Fixed:
    problem = figures.problem
    amounts: dict[PartKey, tuple[int, int]] = {}
    started: set[PartKey] = set()
    for done in problem.started:
        key = (figures.batch_at[done.batch], figures.digester_at[done.digester], done.day)
        amount = amounts.get(key, (0, 0))[0] + done.amount_g
        amounts[key] = (amount, amount)
        started.add(key)
    for pin in problem.pins:
        key = (figures.batch_at[pin.batch], figures.digester_at[pin.digester], pin.day)
        if key in started:
            continue
        batch = problem.batches[key[0]]
        if pin.amount_g is None:
            fewest = batch.amount_g
            if batch.divisible:
                fewest = min(fewest, problem.digesters[key[1]].min_pickup_g)
            amounts[key] = (max(fewest, amounts.get(key, (0, 0))[0]), batch.amount_g)
        else:
            amounts[key] = (pin.amount_g, pin.amount_g)
    return Fixed(amounts, frozenset(started))


def list_flows(figures: Figures, fixed: Fixed, room_g: int) -> FlowTable:
    batch, pair, collect_day, feed_day = _list_keys(figures, fixed.started).T.copy()
    count, listed = len(batch), len(figures.pair_digester) > 0
    digester = np.where(pair >= 0, figures.pair_digester[pair] if listed else 0, -1 - pair)
    usable = np.where(pair >= 0, figures.pair_usable[pair] if listed else 1.0, 1.0)
    vs = usable * (figures.batch_vs[batch] if count else 0.0)
    slurry = usable * (figures.batch_slurry[batch] if count else 0.0)
    in_bin = usable * (figures.batch_high[batch] if count else 1.0)
    room = np.where(figures.divisible[batch], room_g / KG, 0.0) if count else np.ones(count)
    return FlowTable(
        batch=batch,
        pair=pair,
        collect_day=collect_day,
        feed_day=feed_day,
        digester=digester,
        usable=usable,
        vs=vs,
        slurry=slurry,
        sure_vs=vs * (figures.batch_sure[batch] if count else 1.0),
        in_bin=in_bin,
        room_kg=room,
        most_kg=_most_kg(figures, batch, digester, feed_day, usable, vs, slurry, in_bin),
    )


def _most_kg(
    figures: Figures,
    batch: Ints,
    home: Ints,
    day: Ints,
    usable: Floats,
    vs: Floats,
    slurry: Floats,
    in_bin: Floats,
) -> Floats:
    """The most of each flow that the batch has and its feed day can take."""
    if not len(batch):
        return full(0, 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        limits = [
            np.where(usable > 0, figures.feed_cap[home, day] / usable, np.inf),
            np.where(vs > 0, figures.vs_cap[home, day] / vs, np.inf),
            np.where(slurry > 0, figures.slurry_cap[home, day] / slurry, np.inf),
            np.where(in_bin > 0, figures.bin_kg[home] / in_bin, np.inf),
        ]
    most = np.minimum(np.minimum.reduce(limits), figures.batch_kg[batch])
    by_home = np.argsort(home, kind="stable")
    starts = np.searchsorted(home[by_home], np.arange(figures.homes + 1))
    for (h, group, basis), by_day in _share_limits(figures).items():
        mine = by_home[starts[h] : starts[h + 1]]
        mine = mine[figures.in_group[group][batch[mine]]]
        unit = vs[mine] if basis == "vs" else usable[mine]
        with np.errstate(divide="ignore", invalid="ignore"):
            limit = np.where(unit > 0, by_day[day[mine]] / unit, np.inf)
        most[mine] = np.minimum(most[mine], limit)
    return np.asarray(most)


def _share_limits(figures: Figures) -> dict[tuple[int, str, str], Floats]:
    """The most of a capped group each day can take (kg, or kg VS by basis), the day being full.

    Implied by the rows of caps and shares together; as a bound on flows it makes the
    relaxation much tighter (a canteen's pot needs more homes than a source may serve)."""
    problem = figures.problem
    out: dict[tuple[int, str, str], Floats] = {}
    for h, digester in enumerate(problem.digesters):
        for cap in digester.share_caps:
            by_day = np.zeros(problem.days)
            caps = figures.vs_cap if cap.basis == "vs" else figures.feed_cap
            for day in range(problem.days):
                own_all = own_group = 0.0
                for own in digester.own_waste:
                    if own.day == day:
                        material = figures.materials[own.material]
                        amount = own.amount_g / KG
                        amount *= material.vs_ppm / PPM if cap.basis == "vs" else 1.0
                        own_all += amount
                        own_group += amount if cap.group in material.share_groups else 0.0
                full_day = caps[h, day] + own_all
                by_day[day] = max(0.0, cap.share_ppm / PPM * full_day - own_group)
            out[h, cap.group, cap.basis] = by_day
    return out


def _list_keys(figures: Figures, started: frozenset[PartKey]) -> Ints:
    """All (batch, pair, collect day, feed day) that hours, reach, bans and materials allow."""
    problem, days = figures.problem, figures.days
    pairs_of, listed_pairs = _open_pairs(figures)
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


def _open_pairs(
    figures: Figures,
) -> tuple[
    dict[str, list[tuple[int, Digester, tuple[bool, ...]]]],
    dict[tuple[str, str], int],
]:
    """By source the pairs that may meet, with their days; and every pair's index."""
    problem = figures.problem
    banned_always = {(b.source, b.digester) for b in problem.bans if b.day is None}
    banned_on = defaultdict(set)
    for ban in problem.bans:
        if ban.day is not None:
            banned_on[ban.source, ban.digester].add(ban.day)
    pairs_of: dict[str, list[tuple[int, Digester, tuple[bool, ...]]]] = defaultdict(list)
    listed: dict[tuple[str, str], int] = {}
    for i, pair in enumerate(problem.pairs):
        listed[pair.source, pair.digester] = i
        if (pair.source, pair.digester) in banned_always:
            continue
        closed = banned_on.get((pair.source, pair.digester), set())
        open_days = tuple(
            bool(pair.meets_on_day[day]) and day not in closed for day in range(problem.days)
        )
        if any(open_days):
            digester = problem.digesters[figures.digester_at[pair.digester]]
            pairs_of[pair.source].append((i, digester, open_days))
    return pairs_of, listed
