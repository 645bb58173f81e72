"""A change to a planning problem: pins, bans, and other batches or digesters."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace

from apps.planning.core.problem import Ban, Batch, Digester, Pin, Problem


@dataclass(frozen=True, slots=True)
class Change:
    """What is to be different: rows added, lifted, or put in place of those of the same code."""

    pins: tuple[Pin, ...] = ()
    lifted_pins: tuple[Pin, ...] = ()
    bans: tuple[Ban, ...] = ()
    lifted_bans: tuple[Ban, ...] = ()
    batches: tuple[Batch, ...] = ()
    digesters: tuple[Digester, ...] = ()

    def apply(self, problem: Problem) -> Problem:
        """The problem with the change made."""
        batches = {each.code: each for each in (*problem.batches, *self.batches)}
        digesters = {each.code: each for each in (*problem.digesters, *self.digesters)}
        pinned = {(pin.batch, pin.digester, pin.day) for pin in self.pins}
        pins = [
            pin
            for pin in problem.pins
            if pin not in self.lifted_pins and (pin.batch, pin.digester, pin.day) not in pinned
        ]
        pins += self.pins
        return replace(
            problem,
            pins=tuple(pins),
            bans=(*(ban for ban in problem.bans if ban not in self.lifted_bans), *self.bans),
            batches=room_for_pins(batches.values(), pins),
            digesters=tuple(digesters.values()),
        )


def room_for_pins(batches: Iterable[Batch], pins: Iterable[Pin]) -> tuple[Batch, ...]:
    """The batches, each with as much as is pinned of it where that is more than is reckoned with,
    up to its high figure: whoever pins an amount may count on more than what surely comes."""
    pinned_g: Counter[str] = Counter()
    for pin in pins:
        pinned_g[pin.batch] += pin.amount_g or 0
    return tuple(_with_at_least(batch, pinned_g[batch.code]) for batch in batches)


def _with_at_least(batch: Batch, wanted_g: int) -> Batch:
    amount_g = min(wanted_g, batch.amount_g if batch.high_g is None else batch.high_g)
    if amount_g <= batch.amount_g:
        return batch
    low_g = batch.amount_g if batch.low_g is None else batch.low_g
    return replace(batch, amount_g=amount_g, low_g=low_g)
