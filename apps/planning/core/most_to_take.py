"""How much whoever fetches may take when there is more than was reckoned with."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from apps.planning.core.problem import PPM, Placement, Problem


def most_to_take(problem: Problem, placements: Sequence[Placement]) -> list[int]:
    """Grams by placement, in the order given: its part of the batch's high figure, for which the
    bin has room, as far as the whole visit stays within what its home carries at once."""
    batches = {batch.code: batch for batch in problem.batches}
    carries_g = {each.code: each.carry_limit_g for each in problem.digesters}
    more_g = [each.amount_g * (batches[each.batch].high_ppm - PPM) // PPM for each in placements]
    planned_g: Counter[tuple[str, str, int]] = Counter()
    wished_g: Counter[tuple[str, str, int]] = Counter()
    visits = [(batches[each.batch].source, each.digester, each.day) for each in placements]
    for visit, each, more in zip(visits, placements, more_g, strict=True):
        planned_g[visit] += each.amount_g
        wished_g[visit] += more
    most = []
    for visit, each, more in zip(visits, placements, more_g, strict=True):
        spare_g = max(0, carries_g[each.digester] - planned_g[visit])
        part_g = more * spare_g // wished_g[visit] if wished_g[visit] > spare_g else more
        most.append(each.amount_g + part_g)
    return most
