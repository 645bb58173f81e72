"""A problem's numbers as arrays, in kilograms and parts, in the order of its tuples."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from apps.planning.core.model import KG, Bools, Floats, Ints
from apps.planning.core.problem import PPM, Material, Problem


@dataclass(frozen=True)
class Figures:
    """One entry a batch, a pair or a digester; caps have a row a digester, a column a day.
    `in_group`: by capped share group, which batches count to it."""

    problem: Problem
    materials: dict[str, Material]
    source_at: dict[str, int]
    digester_at: dict[str, int]
    batch_at: dict[str, int]
    batch_source: Ints
    batch_kg: Floats
    batch_vs: Floats
    batch_slurry: Floats
    batch_sure: Floats
    """What surely comes of each kilogram; `batch_high`: what may."""
    batch_high: Floats
    divisible: Bools
    in_group: dict[str, Bools]
    pair_digester: Ints
    pair_usable: Floats
    pair_km: Floats
    feed_cap: Floats
    vs_cap: Floats
    slurry_cap: Floats
    bin_kg: Floats
    carry_kg: Floats
    least_kg: Floats

    @property
    def days(self) -> int:
        return self.problem.days

    @property
    def homes(self) -> int:
        return len(self.problem.digesters)


def read_figures(problem: Problem) -> Figures:
    materials = {m.code: m for m in problem.materials}
    source_at = {s.code: i for i, s in enumerate(problem.sources)}
    digester_at = {d.code: i for i, d in enumerate(problem.digesters)}
    batches, pairs, digesters = problem.batches, problem.pairs, problem.digesters
    of_batch = [materials[b.material] for b in batches]
    capped = sorted({cap.group for d in digesters for cap in d.share_caps})
    shape = (len(digesters), problem.days)
    return Figures(
        problem=problem,
        materials=materials,
        source_at=source_at,
        digester_at=digester_at,
        batch_at={b.code: i for i, b in enumerate(batches)},
        batch_source=np.array([source_at[b.source] for b in batches], dtype=np.int64),
        batch_kg=np.array([b.amount_g / KG for b in batches], dtype=float),
        batch_vs=np.array([m.vs_ppm / PPM for m in of_batch], dtype=float),
        batch_slurry=np.array([m.slurry_ppm / PPM for m in of_batch], dtype=float),
        batch_sure=np.array([b.sure_ppm / PPM for b in batches], dtype=float),
        batch_high=np.array([b.high_ppm / PPM for b in batches], dtype=float),
        divisible=np.array([b.divisible for b in batches], dtype=bool),
        in_group={
            group: np.array([group in m.share_groups for m in of_batch], dtype=bool)
            for group in capped
        },
        pair_digester=np.array([digester_at[p.digester] for p in pairs], dtype=np.int64),
        pair_usable=np.array([p.usable_ppm / PPM for p in pairs], dtype=float),
        pair_km=np.array([p.distance_m / KG for p in pairs], dtype=float),
        feed_cap=np.array(
            [[c.feed_g / KG for c in d.caps] for d in digesters], dtype=float
        ).reshape(shape),
        vs_cap=np.array([[c.vs_g / KG for c in d.caps] for d in digesters], dtype=float).reshape(
            shape
        ),
        slurry_cap=np.array(
            [[c.slurry_ml / KG for c in d.caps] for d in digesters], dtype=float
        ).reshape(shape),
        bin_kg=np.array([d.bin_g / KG for d in digesters], dtype=float),
        carry_kg=np.array([d.carry_limit_g / KG for d in digesters], dtype=float),
        least_kg=np.array([d.min_pickup_g / KG for d in digesters], dtype=float),
    )
