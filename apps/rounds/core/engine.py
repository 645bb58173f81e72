"""The one file that knows the search engine: pyvrp's paired shipments.

What the engine has no words for is said with what it has. Carriers who are alike are one vehicle
type. A place that a carrier avoids is endlessly far for it. An errand bound to a carrier has ends
of its own that everybody else avoids. An errand with one end only is a client: what is on a cart
already comes from the start, what stays on it goes to the end.
Breaks are not known here (`breaks` takes them out of the clock). Rules and costs of the answer
are computed anew by `schedule`.

Stopped by iterations the same problem and seed give the same tours; `most_cpu_s` is for benchmarks.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from pyvrp import (
    Activity,
    ActivityType,
    Client,
    Depot,
    Location,
    PenaltyParams,
    ProblemData,
    Route,
    Shipment,
    Solution,
    SolveParams,
    VehicleType,
    solve,
)
from pyvrp.stop import (
    FirstFeasible,
    MaxIterations,
    MultipleCriteria,
    NoImprovement,
    StoppingCriterion,
)

from apps.rounds.core.problem import LARGEST, Carrier, Errand, Rounds, Side, Tour, Visit

FAR = 10_000_000
"""Metres and seconds to a place that is avoided: no shift is that long."""

MOST_PENALTY = 1_000_000.0
"""Cost units for a second too late or a gram too much, at most: above any errand's value."""

QUIET_SHARE = 0.6
"""Of the iterations allowed; after so many without a better answer the search ends."""


@dataclass(frozen=True, slots=True)
class Effort:
    """How long to search. The same effort and seed give the same tours unless `most_cpu_s` is
    set."""

    iterations: int = 600
    seed: int = 1
    most_cpu_s: float | None = None
    ends_when_sound: bool = False
    """Stop at the first tours that keep every limit."""


class CpuSeconds:
    """Stop after so much of the processor's time, whoever else uses it."""

    def __init__(self, seconds: float) -> None:
        self.ends_at = time.process_time() + seconds

    def __call__(self, best_cost: float) -> bool:
        return time.process_time() >= self.ends_at


def search(rounds: Rounds, effort: Effort, start_from: Sequence[Tour] = ()) -> tuple[Tour, ...]:
    """Tours found, one for each carrier who goes out. An errand without a value is in them
    whenever the engine finds a way; the tours may break a limit only if it finds none."""
    if not rounds.errands:
        return ()
    model = Model(rounds)
    first = model.solution(start_from) if start_from else None
    quiet = max(1, int(effort.iterations * QUIET_SHARE))
    stop: StoppingCriterion = MultipleCriteria(
        [MaxIterations(effort.iterations), NoImprovement(quiet)]
    )
    if effort.most_cpu_s is not None:
        stop = CpuSeconds(effort.most_cpu_s)
    if effort.ends_when_sound:
        stop = MultipleCriteria([FirstFeasible(), stop])
    result = solve(
        model.data,
        stop,
        seed=effort.seed,
        collect_stats=False,
        display=False,
        params=SolveParams(penalty=PenaltyParams(max_penalty=MOST_PENALTY)),
        initial_solution=first,
    )
    return model.tours(result.best)


class Model:
    """The problem in the engine's words, and its answers in ours."""

    def __init__(self, rounds: Rounds) -> None:
        self.rounds = rounds
        self.places = list(range(len(rounds.ways[0].metres)))
        self.owners: dict[int, str] = {}
        """Extra places that belong to one carrier's errands."""
        self.shipped: list[Errand] = []
        self.single: list[Errand] = []
        clients, shipments = [], []
        for errand in rounds.errands:
            if errand.fetch is None or errand.bring is None:
                clients.append(self._client(errand))
                self.single.append(errand)
            else:
                shipments.append(self._shipment(errand))
                self.shipped.append(errand)
        self.kinds = self._kinds()
        profiles = list(dict.fromkeys(self._profile(each[0]) for each in self.kinds))
        depots = list(
            dict.fromkeys(place for kind in self.kinds for place in (kind[0].start, kind[0].end))
        )
        matrices = [self._matrices(profile) for profile in profiles]
        self.data = ProblemData(
            [Location(0, 0) for _place in self.places],
            clients,
            [Depot(place) for place in depots],
            [
                VehicleType(
                    len(kind),
                    [kind[0].load_limit_g],
                    depots.index(kind[0].start),
                    depots.index(kind[0].end),
                    fixed_cost=kind[0].going_out_cost,
                    tw_early=kind[0].shift.from_s,
                    tw_late=kind[0].shift.till_s,
                    unit_distance_cost=kind[0].metre_cost,
                    unit_duration_cost=kind[0].second_cost,
                    profile=profiles.index(self._profile(kind[0])),
                )
                for kind in self.kinds
            ],
            [metres for metres, _seconds in matrices],
            [seconds for _metres, seconds in matrices],
            [],
            shipments,
        )

    def _place(self, place: int, errand: Errand) -> int:
        """The place itself, or a copy of it that only the errand's own carrier may visit."""
        if errand.carrier is None or len(self.rounds.carriers) == 1:
            return place
        self.places.append(place)
        self.owners[len(self.places) - 1] = errand.carrier
        return len(self.places) - 1

    def _client(self, errand: Errand) -> Client:
        [end] = errand.ends
        return Client(
            self._place(end.place, errand),
            delivery=[0 if errand.bring is None else errand.amount_g],
            pickup=[errand.amount_g if errand.bring is None else 0],
            service_duration=end.service_s,
            tw_early=end.window.from_s,
            tw_late=end.window.till_s,
            prize=errand.value or 0,
            required=errand.value is None,
        )

    def _shipment(self, errand: Errand) -> Shipment:
        fetch, bring = errand.ends
        return Shipment(
            self._place(fetch.place, errand),
            self._place(bring.place, errand),
            fetch.window.from_s,
            fetch.window.till_s,
            fetch.service_s,
            bring.window.from_s,
            bring.window.till_s,
            bring.service_s,
            amount=[errand.amount_g],
            prize=errand.value or 0,
            required=errand.value is None,
        )

    def _kinds(self) -> list[list[Carrier]]:
        """Carriers who differ in nothing but their code, together."""
        bound = {each.carrier for each in self.rounds.errands}
        kinds: dict[tuple[Carrier, str], list[Carrier]] = {}
        for carrier in self.rounds.carriers:
            own = carrier.code if carrier.code in bound else ""
            kinds.setdefault((replace(carrier, code="-", breaks=()), own), []).append(carrier)
        return list(kinds.values())

    def _profile(self, carrier: Carrier) -> tuple[int, frozenset[int], frozenset[int]]:
        others = frozenset(p for p, owner in self.owners.items() if owner != carrier.code)
        return carrier.ways, carrier.avoids, others

    def _matrices(self, profile: tuple[int, frozenset[int], frozenset[int]]) -> tuple[Any, Any]:
        ways, avoids, others = profile
        shut = [n for n, place in enumerate(self.places) if place in avoids or n in others]
        both = []
        for rows in (self.rounds.ways[ways].metres, self.rounds.ways[ways].seconds):
            matrix = np.array(rows, dtype=np.int64)[np.ix_(self.places, self.places)]
            matrix[shut, :] = np.maximum(matrix[shut, :], FAR)
            matrix[:, shut] = np.maximum(matrix[:, shut], FAR)
            np.fill_diagonal(matrix, 0)
            both.append(np.minimum(matrix, LARGEST))
        return both[0], both[1]

    def tours(self, best: Solution) -> tuple[Tour, ...]:
        """Routes as tours; carriers who are alike take them in order of their codes."""
        free = [list(kind) for kind in self.kinds]
        tours = []
        for route in best.routes():
            visits = tuple(self._visit(step) for step in route.schedule() if not step.is_depot())
            if visits:
                tours.append(Tour(free[route.vehicle_type()].pop(0).code, visits))
        return tuple(sorted(tours, key=lambda tour: tour.carrier))

    def _visit(self, step: Activity) -> Visit:
        if step.is_client():
            errand = self.single[step.idx]
            return Visit(errand.code, Side.FETCH if errand.bring is None else Side.BRING)
        side = Side.FETCH if step.is_pickup() else Side.BRING
        return Visit(self.shipped[step.idx].code, side)

    def solution(self, tours: Sequence[Tour]) -> Solution:
        """Tours of ours as a first answer."""
        kind_of = {each.code: n for n, kind in enumerate(self.kinds) for each in kind}
        shipped = {each.code: n for n, each in enumerate(self.shipped)}
        single = {each.code: n for n, each in enumerate(self.single)}
        routes = []
        for tour in tours:
            steps = []
            for visit in tour.visits:
                if visit.errand in single:
                    steps.append(Activity(ActivityType.CLIENT, single[visit.errand]))
                else:
                    is_fetch = visit.side is Side.FETCH
                    side = ActivityType.PICKUP if is_fetch else ActivityType.DELIVERY
                    steps.append(Activity(side, shipped[visit.errand]))
            routes.append(Route(self.data, steps, kind_of[tour.carrier]))
        return Solution(self.data, routes)
