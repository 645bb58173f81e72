"""What each source is told before closing: who comes today, and what nobody comes for."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from apps.planning.core.destinations import Sending, last_chance_day
from apps.planning.core.plan_facts import Hours
from apps.planning.core.problem import Problem
from apps.planning.core.result import Result


@dataclass(frozen=True, slots=True)
class Coming:
    """Somebody comes for grams of a batch, from `opens` to `closes` (None: hours not known)."""

    digester: str
    batch: str
    material: str
    amount_g: int
    opens: str | None = None
    closes: str | None = None


@dataclass(frozen=True, slots=True)
class Kept:
    """Grams of a batch that stay at the source today, for somebody may come until `until_day`."""

    batch: str
    material: str
    amount_g: int
    until_day: int


@dataclass(frozen=True, slots=True)
class SourceNotice:
    """One source on one day on which it has something."""

    source: str
    day: int
    comings: tuple[Coming, ...]
    kept: tuple[Kept, ...]
    sendings: tuple[Sending, ...]

    @property
    def nobody_comes(self) -> bool:
        return not self.comings


def source_notices(
    problem: Problem,
    result: Result,
    sendings: Iterable[Sending],
    hours: Mapping[tuple[str, int], tuple[Hours, ...]] | None = None,
) -> tuple[SourceNotice, ...]:
    """A notice for every source and day with something on hand, by day and source.

    `hours`: stretches by (code of a source or digester, day); without those of both ends a
    coming has no time.
    """
    hours = hours or {}
    batches = {batch.code: batch for batch in problem.batches}
    comings: dict[tuple[str, int], list[Coming]] = defaultdict(list)
    placed: dict[tuple[str, int], int] = defaultdict(int)
    for each in sorted(result.placements, key=lambda p: (p.day, p.digester, p.batch)):
        batch = batches[each.batch]
        placed[each.batch, each.day] += each.amount_g
        opens, closes = meeting(hours, batch.source, each.digester, each.day) or (None, None)
        comings[batch.source, each.day].append(
            Coming(each.digester, each.batch, batch.material, each.amount_g, opens, closes)
        )
    going: dict[tuple[str, int], list[Sending]] = defaultdict(list)
    sent: dict[tuple[str, int], int] = defaultdict(int)
    for sending in sendings:
        going[sending.source, sending.day].append(sending)
        sent[sending.batch, sending.day] += sending.amount_g
    kept: dict[tuple[str, int], list[Kept]] = defaultdict(list)
    for code, batch in sorted(batches.items()):
        left_g = batch.amount_g
        last = last_chance_day(problem, batch)
        for day in range(max(0, batch.ready_day), last + 1):
            left_g -= placed[code, day] + sent[code, day]
            if left_g > 0:
                kept[batch.source, day].append(Kept(code, batch.material, left_g, last))
    keys = sorted(comings.keys() | kept.keys() | going.keys(), key=lambda key: (key[1], key[0]))
    return tuple(
        SourceNotice(
            source,
            day,
            tuple(comings.get((source, day), ())),
            tuple(kept.get((source, day), ())),
            tuple(going.get((source, day), ())),
        )
        for source, day in keys
    )


def meeting(
    hours: Mapping[tuple[str, int], tuple[Hours, ...]], source: str, digester: str, day: int
) -> Hours | None:
    """The first stretch in which both ends are there; None when unknown or never."""
    for opens, closes in sorted(hours.get((source, day), ())):
        for other_opens, other_closes in sorted(hours.get((digester, day), ())):
            start, end = max(opens, other_opens), min(closes, other_closes)
            if start < end:
                return start, end
    return None
