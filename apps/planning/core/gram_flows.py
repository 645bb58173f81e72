"""What a plan in columns asks for, gram by gram: one flow for each thing fed on one day."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

import numpy as np

from apps.planning.core.flow_columns import PartKey
from apps.planning.core.lookup import UNIT
from apps.planning.core.model import Floats, Model
from apps.planning.core.problem import PPM


@dataclass
class Flow:
    """`amount_g` of one lot fed on one day, as collected. `usable`, `vs`, `slurry`, `in_bin`:
    what a gram weighs on each limit, in UNITs; `collect_day` -1 for stock."""

    digester: int
    collect_day: int
    feed_day: int
    material: str
    usable: int
    vs: int
    slurry: int
    in_bin: int
    sure_ppm: int
    groups: tuple[str, ...]
    lot: int
    """The batch, or the number of a lot among the digester's stock."""
    wanted_mg: int
    amount_g: int = 0

    @property
    def is_stock(self) -> bool:
        return self.collect_day < 0


def list_part_flows(model: Model, x: Floats) -> dict[PartKey, list[Flow]]:
    """By part of a batch that `x` uses, a flow for each day on which it may be fed."""
    problem, flows = model.problem, model.flows
    materials = {material.code: material for material in problem.materials}
    wanted_mg = np.rint(x[: len(flows.batch)] * 1e6).astype(np.int64)
    code = (flows.batch * (len(problem.digesters) + 1) + flows.digester) * (
        problem.days + 1
    ) + flows.collect_day
    parts: dict[PartKey, list[Flow]] = defaultdict(list)
    for i in np.flatnonzero(np.isin(code, code[wanted_mg >= 500])).tolist():
        batch = problem.batches[int(flows.batch[i])]
        material = materials[batch.material]
        pair_at = int(flows.pair[i])
        usable = problem.pairs[pair_at].usable_ppm if pair_at >= 0 else PPM
        key = (int(flows.batch[i]), int(flows.digester[i]), int(flows.collect_day[i]))
        parts[key].append(
            Flow(
                digester=key[1],
                collect_day=key[2],
                feed_day=int(flows.feed_day[i]),
                material=batch.material,
                usable=usable * PPM,
                vs=usable * material.vs_ppm,
                slurry=usable * material.slurry_ppm,
                in_bin=usable * batch.high_ppm,
                sure_ppm=batch.sure_ppm,
                groups=material.share_groups,
                lot=key[0],
                wanted_mg=int(wanted_mg[i]),
            )
        )
    return parts


def list_stock_flows(model: Model, x: Floats) -> list[Flow]:
    """A flow for each lot in a bin and day on which it may be fed."""
    materials = {material.code: material for material in model.problem.materials}
    out = []
    for h, at, day, column in model.stock_columns:
        material = materials[model.problem.digesters[h].stock[at].material]
        out.append(
            Flow(
                digester=h,
                collect_day=-1,
                feed_day=day,
                material=material.code,
                usable=UNIT,
                vs=material.vs_ppm * PPM,
                slurry=material.slurry_ppm * PPM,
                in_bin=UNIT,
                sure_ppm=PPM,
                groups=material.share_groups,
                lot=at,
                wanted_mg=int(np.rint(x[column] * 1e6)),
            )
        )
    return out
