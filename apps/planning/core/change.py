"""A change to a planning problem: pins, bans, and other batches or digesters."""

from __future__ import annotations

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
        return replace(
            problem,
            pins=(*pins, *self.pins),
            bans=(*(ban for ban in problem.bans if ban not in self.lifted_bans), *self.bans),
            batches=tuple(batches.values()),
            digesters=tuple(digesters.values()),
        )
