"""What an exchange decides in some homes: their visits, and batches that go whole or not."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from apps.planning.core.improve import State
from apps.planning.core.model import Bools, Floats, Ints, Model
from apps.planning.core.relax import Part


@dataclass(frozen=True)
class VisitChoices:
    """Yes/no columns of a part, an entry each; a batch that goes whole belongs to its visit.

    Days of sources, and of homes, are numbered `number * days + day`."""

    columns: Ints
    """Positions among the part's columns."""
    counts: Bools
    """Those that are visits, and so count against how many there may be."""
    source_day: Ints
    home_day: Ints
    most_homes: Ints
    """Per day of each source."""
    most_visits: Ints
    """Per day of each home."""
    homes_elsewhere: Ints
    """Per day of each source the homes outside the part that it goes to."""
    flows: Ints
    """Positions of flows among the part's columns."""
    of_flow: Ints
    """The visit of each of them."""
    flows_of: list[Ints]
    members: dict[int, Ints]
    """By day of a source its choices that nothing has settled."""
    homes_of: dict[int, set[int]]
    """By day of a source the homes that these go to."""

    def carried_kg(self, x: Floats) -> Floats:
        """What each visit brings in the part's columns `x`."""
        kg = np.bincount(self.of_flow, weights=x[self.flows], minlength=len(self.columns))
        return kg.astype(float)

    def count(self, made: Bools) -> tuple[Ints, Ints]:
        """Homes that each source goes to and visits that each home has, by day."""
        visits = made & self.counts
        homes = np.bincount(self.source_day[visits], minlength=len(self.most_homes))
        return (
            self.homes_elsewhere + homes,
            np.bincount(self.home_day[visits], minlength=len(self.most_visits)),
        )

    def fit(self, choices: Ints, homes: Ints, visits: Ints) -> Bools:
        """Which choices there is room for beside so many."""
        at_source, at_home = self.source_day[choices], self.home_day[choices]
        room = (homes[at_source] < self.most_homes[at_source]) & (
            visits[at_home] < self.most_visits[at_home]
        )
        return np.asarray(room | ~self.counts[choices])


def list_choices(state: State, part: Part) -> VisitChoices:
    """The choices of a part of the state's model."""
    model = state.model
    problem, visits, days = model.problem, model.visits, model.problem.days
    flow_count, visit_count = len(model.flows.batch), len(visits.column)
    columns = np.flatnonzero(part.program.integral)
    chosen = part.columns[columns]
    counts = chosen < flow_count + visit_count
    visit = chosen - flow_count
    visit[~counts] = _visits_of_wholes(model, chosen[~counts])
    choice_of = np.full(visit_count, -1, dtype=np.int64)
    choice_of[visit[counts]] = np.flatnonzero(counts)
    flows = np.flatnonzero(part.columns < flow_count)
    of_flow = choice_of[model.flows.visit[part.columns[flows]]]
    order = np.argsort(of_flow, kind="stable")
    starts = np.searchsorted(of_flow[order], np.arange(len(columns) + 1)).tolist()
    source_day = visits.source[visit] * days + visits.day[visit]
    elsewhere = state.x[visits.column] > 0.5
    elsewhere[visit[counts]] = False
    most_homes = _by_day([each.max_homes_per_day for each in problem.sources], days)
    free = (part.program.lower[columns] < 0.5) & (part.program.upper[columns] > 0.5)
    members = {
        day: np.flatnonzero(free & (source_day == day))
        for day in np.unique(source_day[free]).tolist()
    }
    return VisitChoices(
        columns=columns,
        counts=counts,
        source_day=source_day,
        home_day=visits.digester[visit] * days + visits.day[visit],
        most_homes=most_homes,
        most_visits=_by_day([each.max_visits_per_day for each in problem.digesters], days),
        homes_elsewhere=np.bincount(
            visits.source[elsewhere] * days + visits.day[elsewhere], minlength=len(most_homes)
        ),
        flows=flows,
        of_flow=of_flow,
        flows_of=[flows[order[a:b]] for a, b in pairwise(starts)],
        members=members,
        homes_of={day: set(visits.digester[visit[at]].tolist()) for day, at in members.items()},
    )


def _by_day(most: list[int], days: int) -> Ints:
    return np.repeat(np.array(most, dtype=np.int64), days)


def _visits_of_wholes(model: Model, columns: Ints) -> Ints:
    """The visits to which batches belong that have a yes/no column of their own."""
    if not len(columns):
        return columns
    problem = model.problem
    source_at = {source.code: i for i, source in enumerate(problem.sources)}
    part_of = {column: part for part, column in model.whole.items()}
    parts = [part_of[column] for column in columns.tolist()]
    return np.array(
        [model.visit_at[source_at[problem.batches[b].source], h, day] for b, h, day in parts],
        dtype=np.int64,
    )
