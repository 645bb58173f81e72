"""The canonical order of a problem, and its fingerprint: the same problem, however listed."""

from __future__ import annotations

import hashlib
from dataclasses import fields, is_dataclass, replace

from apps.planning.core.problem import Batch, Digester, Problem

LEFT_OUT = ("low_g", "high_g")
"""Fields that are not spelled while they are None: plans older than they keep their hash."""


def sort_problem(problem: Problem) -> Problem:
    """The same problem with every tuple sorted by code, so that no answer hangs on order."""
    return replace(
        problem,
        materials=tuple(
            replace(material, share_groups=tuple(sorted(set(material.share_groups))))
            for material in sorted(problem.materials, key=lambda m: m.code)
        ),
        digesters=tuple(_sort_digester(d) for d in sorted(problem.digesters, key=lambda d: d.code)),
        sources=tuple(sorted(problem.sources, key=lambda s: s.code)),
        batches=tuple(_sort_batch(b) for b in sorted(problem.batches, key=lambda b: b.code)),
        pairs=tuple(sorted(problem.pairs, key=lambda p: (p.source, p.digester))),
        pins=tuple(sorted(problem.pins, key=lambda p: (p.batch, p.digester, p.day))),
        bans=tuple(
            sorted(
                problem.bans,
                key=lambda b: (b.source, b.digester, -1 if b.day is None else b.day),
            )
        ),
        started=tuple(
            sorted(problem.started, key=lambda p: (p.batch, p.digester, p.day, p.amount_g))
        ),
        previous=tuple(
            sorted(problem.previous, key=lambda p: (p.batch, p.digester, p.day, p.amount_g))
        ),
    )


def hash_problem(problem: Problem, *, without: frozenset[str] = frozenset()) -> str:
    """SHA-256 (hex) of the canonical problem; `without` fields that were not known when the
    fingerprint to compare with was taken."""
    text = _spell(sort_problem(problem), without)
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


def _sort_batch(batch: Batch) -> Batch:
    """Figures that say no more than the amount are left out."""
    if batch.amount_g not in (batch.low_g, batch.high_g):
        return batch
    return replace(
        batch,
        low_g=None if batch.low_g == batch.amount_g else batch.low_g,
        high_g=None if batch.high_g == batch.amount_g else batch.high_g,
    )


def _sort_digester(digester: Digester) -> Digester:
    return replace(
        digester,
        share_caps=tuple(
            sorted(digester.share_caps, key=lambda c: (c.group, c.basis, c.share_ppm))
        ),
        own_waste=tuple(sorted(digester.own_waste, key=lambda w: (w.day, w.material, w.amount_g))),
        stock=tuple(sorted(digester.stock, key=lambda lot: lot.code)),
    )


def _spell(value: object, without: frozenset[str]) -> str:
    """A text that is equal exactly for equal values (`repr` of a set has no fixed order)."""
    if isinstance(value, frozenset):
        return "{" + ",".join(sorted(_spell(item, without) for item in value)) + "}"
    if isinstance(value, tuple):
        return "(" + ",".join(_spell(item, without) for item in value) + ")"
    if is_dataclass(value) and not isinstance(value, type):
        parts = (
            f"{f.name}={_spell(getattr(value, f.name), without)}"
            for f in fields(value)
            if f.name not in without
            and (f.name not in LEFT_OUT or getattr(value, f.name) is not None)
        )
        return f"{type(value).__name__}({','.join(parts)})"
    return repr(value)
