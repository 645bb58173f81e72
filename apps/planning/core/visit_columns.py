"""The yes/no columns: visits, and batches that go whole or not at all."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from apps.planning.core.figures import Figures
from apps.planning.core.flow_columns import Fixed, FlowTable
from apps.planning.core.model import KG, Bools, Floats, Ints
from apps.planning.core.rows import full


@dataclass(frozen=True)
class VisitTable:
    """Visits (source, digester, day), and parts (batch, digester, collection day) of them."""

    keys: Ints
    of_flow: Ints
    column: Ints
    cap_kg: Floats
    """The most a visit can bring."""
    least_kg: Floats
    """The smallest pickup; 0 where a started pickup is exempt."""
    exempt: Bools
    parts: Ints
    part_of_flow: Ints
    visit_of_part: Ints
    part_column: Ints
    """The yes/no column of an indivisible part, else -1; shared with the visit's when alone."""
    whole: Bools
    """Parts that are indivisible; `alone`: also the only one in their visit."""
    alone: Bools

    @property
    def own(self) -> Bools:
        """Indivisible parts with a column of their own."""
        return self.whole & ~self.alone

    @property
    def next_column(self) -> int:
        first = int(self.column[0]) if len(self.column) else len(self.of_flow)
        return first + len(self.column) + int(self.own.sum())


def list_visits(figures: Figures, flows: FlowTable, fixed: Fixed) -> VisitTable:
    count = len(flows.batch)
    source = figures.batch_source[flows.batch] if count else flows.batch
    keys, of_flow = np.unique(
        np.stack([source, flows.digester, flows.collect_day], axis=1),
        axis=0,
        return_inverse=True,
    )
    of_flow = of_flow.reshape(-1)
    parts, first, part_of_flow = np.unique(
        np.stack([flows.batch, flows.digester, flows.collect_day], axis=1),
        axis=0,
        return_index=True,
        return_inverse=True,
    )
    part_of_flow = part_of_flow.reshape(-1)
    visit_of_part = of_flow[first]
    whole = ~figures.divisible[parts[:, 0]] if len(parts) else np.zeros(0, dtype=bool)
    alone = whole & (np.bincount(visit_of_part, minlength=len(keys))[visit_of_part] == 1)
    column = np.arange(count, count + len(keys))
    part_column = np.full(len(parts), -1, dtype=np.int64)
    part_column[alone] = column[visit_of_part[alone]]
    own = whole & ~alone
    part_column[own] = np.arange(count + len(keys), count + len(keys) + own.sum())
    cap = _visit_caps(figures, flows, parts, part_of_flow, visit_of_part, flows.in_bin[first])
    cap, exempt = _carry_started(figures, fixed, keys, cap)
    least = np.where(exempt, 0.0, figures.least_kg[keys[:, 1]])
    return VisitTable(
        keys=keys,
        of_flow=of_flow,
        column=column,
        cap_kg=cap,
        least_kg=least,
        exempt=exempt,
        parts=parts,
        part_of_flow=part_of_flow,
        visit_of_part=visit_of_part,
        part_column=part_column,
        whole=whole,
        alone=alone,
    )


def _visit_caps(
    figures: Figures,
    flows: FlowTable,
    parts: Ints,
    part_of_flow: Ints,
    visit_of_part: Ints,
    in_bin: Floats,
) -> Floats:
    """The most a visit can bring: carrying, bin, what is offered, what can be eaten."""
    visits = int(visit_of_part.max()) + 1 if len(visit_of_part) else 0
    eaten = np.bincount(part_of_flow, weights=flows.most_kg, minlength=len(parts))
    with np.errstate(divide="ignore"):
        held = np.where(in_bin > 0, figures.bin_kg[parts[:, 1]] / in_bin, np.inf)
    offered = np.minimum(np.minimum(eaten, held), figures.batch_kg[parts[:, 0]])
    total = np.bincount(visit_of_part, weights=offered, minlength=visits)
    home = np.zeros(visits, dtype=np.int64)
    home[visit_of_part] = parts[:, 1]
    return np.asarray(np.minimum(total, figures.carry_kg[home]))


def _carry_started(figures: Figures, fixed: Fixed, keys: Ints, cap: Floats) -> tuple[Floats, Bools]:
    """Caps raised to what a started pickup brings, and which visits are such facts."""
    exempt, started_kg = np.zeros(len(keys), dtype=bool), full(len(keys), 0.0)
    if fixed.started:
        at = {tuple(key): i for i, key in enumerate(keys.tolist())}
        for part in fixed.started:
            visit = at[int(figures.batch_source[part[0]]), part[1], part[2]]
            exempt[visit] = True
            started_kg[visit] += fixed.amounts[part][0] / KG
    return np.where(exempt, np.maximum(cap, started_kg), cap), exempt
