"""The planning problem handed whole to CP-SAT, in whole grams: the truth for tiny problems.

Written from the words of `core/problem.py` and `core/result.py`, sharing nothing with the
planner. Problems must keep coefficients in multiples of `STEP` (see `tiny_problem`), so that
all loads are whole milligrams.
"""

from __future__ import annotations

import random
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import Any

from ortools.sat.python import cp_model

from apps.planning.core.problem import (
    PPM,
    Ban,
    Batch,
    DayCaps,
    Digester,
    Material,
    OwnWaste,
    Pair,
    Pin,
    Placement,
    Problem,
    Rules,
    ShareCap,
    Source,
    StockLot,
)
from apps.planning.core.result import SHORTFALL_PIECES, WISHES

MG = 1_000
TENTHS = 10
"""What surely comes is counted in tenths of a milligram."""
STEP = 10**9
"""usable_ppm * vs_ppm (or slurry_ppm, or 10^6) must be a multiple: 10^12 is a gram a gram."""


class WholeModel:
    """All wishes and limits of a problem as one integer program."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.model = cp_model.CpModel()
        self.materials = {each.code: each for each in problem.materials}
        self.batches = {each.code: each for each in problem.batches}
        self.pairs = {(each.source, each.digester): each for each in problem.pairs}
        self.flow: dict[tuple[str, str, int, int], Any] = {}
        """(batch, digester, collected, fed) grams."""
        self.stock: dict[tuple[str, str, int], Any] = {}
        self.visit: dict[tuple[str, str, int], Any] = {}
        self._flows()
        self._batches()
        self._visits()
        for digester in problem.digesters:
            self._digester(digester)
        self._pins()
        self.wishes = self._wishes()

    def solve(self, seconds_each: float = 20.0) -> tuple[float, ...]:
        """The lexicographically best wish values, in `WISHES` units.

        Raises RuntimeError when a stage is not proved optimal in its time.
        """
        values = []
        for wish, unit in self.wishes:
            self.model.minimize(wish)
            solver = cp_model.CpSolver()
            solver.parameters.num_workers = 1
            solver.parameters.random_seed = 1
            solver.parameters.max_time_in_seconds = seconds_each
            if solver.solve(self.model) != cp_model.OPTIMAL:
                raise RuntimeError("not proved")
            best = round(solver.objective_value)
            self.model.add(wish == best)
            values.append(best / unit)
        return tuple(values)

    def _flows(self) -> None:
        problem = self.problem
        for batch in problem.batches:
            for digester in problem.digesters:
                if not self._allowed(batch, digester):
                    continue
                pair = self.pairs[batch.source, digester.code]
                last = min(batch.feed_by_day, problem.days - 1)
                for day in range(batch.ready_day, min(batch.collect_by_day, last) + 1):
                    if pair.meets_on_day[day] and not self._banned(batch, digester, day):
                        for fed in range(day, last + 1):
                            name = f"{batch.code} {digester.code} {day} {fed}"
                            self.flow[batch.code, digester.code, day, fed] = self.model.new_int_var(
                                0, batch.amount_g, name
                            )
        for digester in problem.digesters:
            for lot in digester.stock:
                for day in range(min(lot.feed_by_day, problem.days - 1) + 1):
                    self.stock[digester.code, lot.code, day] = self.model.new_int_var(
                        0, lot.amount_g, f"{lot.code} {day}"
                    )

    def _allowed(self, batch: Batch, digester: Digester) -> bool:
        in_reach = (batch.source, digester.code) in self.pairs
        return in_reach and batch.material in digester.accepts

    def _banned(self, batch: Batch, digester: Digester, day: int) -> bool:
        return any(
            (ban.source, ban.digester) == (batch.source, digester.code) and ban.day in (None, day)
            for ban in self.problem.bans
        )

    def placed(self, batch: str, digester: str, day: int) -> Any:
        return sum(flow for key, flow in self.flow.items() if key[:3] == (batch, digester, day))

    def _keys(self) -> list[tuple[str, str, int]]:
        return sorted({key[:3] for key in self.flow})

    def _batches(self) -> None:
        for batch in self.problem.batches:
            keys = [key for key in self._keys() if key[0] == batch.code]
            if batch.divisible:
                self.model.add(sum(self.placed(*key) for key in keys) <= batch.amount_g)
                continue
            chosen = []
            for key in keys:
                choose = self.model.new_bool_var(f"whole {key}")
                self.model.add(self.placed(*key) == batch.amount_g * choose)
                chosen.append(choose)
            self.model.add_at_most_one(chosen)

    def _visits(self) -> None:
        parts: dict[tuple[str, str, int], list[tuple[str, str, int]]] = defaultdict(list)
        for batch, digester, day in self._keys():
            parts[self.batches[batch].source, digester, day].append((batch, digester, day))
        homes = {each.code: each for each in self.problem.digesters}
        for visit, keys in parts.items():
            digester = homes[visit[1]]
            made = self.visit[visit] = self.model.new_bool_var(f"visit {visit}")
            carried = sum(self.placed(*key) for key in keys)
            self.model.add(carried <= digester.carry_limit_g * made)
            whole = [key for key in keys if not self.batches[key[0]].divisible]
            exempt = self.model.new_bool_var(f"exempt {visit}")
            self.model.add(sum(self.placed(*key) for key in whole) >= exempt)
            self.model.add(carried >= digester.min_pickup_g * made - digester.min_pickup_g * exempt)
            self.model.add(carried >= made)
        for digester in self.problem.digesters:
            for day in range(self.problem.days):
                self.model.add(
                    sum(v for (_, d, t), v in self.visit.items() if (d, t) == (digester.code, day))
                    <= digester.max_visits_per_day
                )
        for source in self.problem.sources:
            for day in range(self.problem.days):
                self.model.add(
                    sum(v for (s, _, t), v in self.visit.items() if (s, t) == (source.code, day))
                    <= source.max_homes_per_day
                )

    def _loads(self, material: Material, usable_ppm: int) -> tuple[int, int, int]:
        """mg of mass, mg VS and thousandths of ml of a collected gram."""
        products = (
            usable_ppm * PPM,
            usable_ppm * material.vs_ppm,
            usable_ppm * material.slurry_ppm,
        )
        assert all(product % STEP == 0 for product in products)
        mass, vs, slurry = (product // STEP for product in products)
        return mass, vs, slurry

    def _fed(
        self, digester: Digester, day: int
    ) -> list[tuple[Material, tuple[int, int, int], Any, int]]:
        """Everything that may be fed on a day: material, loads a gram, grams, and tenths of
        milligrams of VS that a gram surely brings."""
        found = []
        for (batch, home, _, fed), flow in self.flow.items():
            if (home, fed) == (digester.code, day):
                material = self.materials[self.batches[batch].material]
                usable = self.pairs[self.batches[batch].source, home].usable_ppm
                loads = self._loads(material, usable)
                sure = loads[1] * TENTHS * self.batches[batch].sure_ppm
                assert sure % PPM == 0
                found.append((material, loads, flow, sure // PPM))
        for lot in digester.stock:
            if (digester.code, lot.code, day) in self.stock:
                material = self.materials[lot.material]
                grams = self.stock[digester.code, lot.code, day]
                loads = self._loads(material, PPM)
                found.append((material, loads, grams, loads[1] * TENTHS))
        return found

    def _digester(self, digester: Digester) -> None:
        for lot in digester.stock:
            fed = [
                v
                for (d, code, _), v in self.stock.items()
                if (d, code) == (digester.code, lot.code)
            ]
            self.model.add(sum(fed) <= lot.amount_g)
        for day in range(self.problem.days):
            fed = self._fed(digester, day)
            caps = digester.caps[day]
            for at, cap in enumerate((caps.feed_g, caps.vs_g, caps.slurry_ml)):
                self.model.add(sum(loads[at] * grams for _, loads, grams, _ in fed) <= cap * MG)
            for cap in digester.share_caps:
                self._share(digester, cap, day, fed)
            self._bin(digester, day)

    def _share(self, digester: Digester, cap: ShareCap, day: int, fed: list[Any]) -> None:
        at = 1 if cap.basis == "vs" else 0
        own_group = own_total = 0
        for waste in digester.own_waste:
            if waste.day == day:
                material = self.materials[waste.material]
                part = waste.amount_g * self._loads(material, PPM)[at]
                own_total += part
                own_group += part if cap.group in material.share_groups else 0
        group = [row for row in fed if cap.group in row[0].share_groups]
        if own_group * PPM > cap.share_ppm * own_total:
            self.model.add(sum(grams for _, _, grams, _ in group) == 0)
            return
        percent = cap.share_ppm // 10_000
        assert percent * 10_000 == cap.share_ppm
        in_group = own_group + sum(loads[at] * grams for _, loads, grams, _ in group)
        total = own_total + sum(loads[at] * grams for _, loads, grams, _ in fed)
        self.model.add(100 * in_group <= percent * total)

    def _bin(self, digester: Digester, day: int) -> None:
        collected = []
        for (batch, home, came, fed), flow in self.flow.items():
            if home == digester.code and came <= day <= fed:
                material = self.materials[self.batches[batch].material]
                usable = self.pairs[self.batches[batch].source, home].usable_ppm
                high = self._loads(material, usable)[0] * self.batches[batch].high_ppm
                assert high % PPM == 0
                collected.append(high // PPM * flow)
        alive = [lot for lot in digester.stock if lot.feed_by_day >= day]
        stock = sum(
            lot.amount_g * MG
            - MG
            * sum(
                self.stock[digester.code, lot.code, before]
                for before in range(day)
                if (digester.code, lot.code, before) in self.stock
            )
            for lot in alive
        )
        if sum(lot.amount_g for lot in alive) > digester.bin_g:
            self.model.add(sum(collected) == 0)
        else:
            self.model.add(sum(collected) + stock <= digester.bin_g * MG)

    def _pins(self) -> None:
        homes = {each.code: each for each in self.problem.digesters}
        for pin in self.problem.pins:
            placed = self.placed(pin.batch, pin.digester, pin.day)
            if pin.amount_g is None:
                least = min(homes[pin.digester].min_pickup_g, self.batches[pin.batch].amount_g)
                self.model.add(placed >= max(1, least))
            else:
                self.model.add(placed == pin.amount_g)

    def _wishes(self) -> list[tuple[Any, float]]:
        """(expression, its units in one unit of the wish), in the order of `WISHES`."""
        problem, model = self.problem, self.model
        fed_mg = {
            digester.code: sum(
                loads[1] * grams
                for day in range(problem.days)
                for _, loads, grams, _ in self._fed(digester, day)
            )
            for digester in problem.digesters
        }
        sure = {
            digester.code: sum(
                brings * grams
                for day in range(problem.days)
                for _, _, grams, brings in self._fed(digester, day)
            )
            for digester in problem.digesters
        }
        below, shortfall = [], []
        for digester in problem.digesters:
            least = digester.min_vs_g * MG * TENTHS
            missing = model.new_int_var(0, least, f"missing {digester.code}")
            model.add(missing >= least - sure[digester.code])
            below.append(missing)
            target, filled, begin = sum(digester.target_vs_g) * MG * TENTHS, [], 0
            for end, weight in SHORTFALL_PIECES:
                piece = target * (end - begin) // PPM
                part = model.new_int_var(0, piece, f"piece {digester.code} {end}")
                filled.append(part)
                shortfall.append(weight * (piece - part))
                begin = end
            model.add(sum(filled) <= sure[digester.code])
        overdue = self._overdue()
        left = sum(batch.amount_g for batch in problem.batches) - sum(self.flow.values())
        for digester in problem.digesters:
            for lot in digester.stock:
                if lot.feed_by_day < problem.days:
                    left += lot.amount_g - sum(
                        v for (_, code, _), v in self.stock.items() if code == lot.code
                    )
        carrying = problem.rules.trip_g_m * sum(self.visit.values()) + sum(
            self.pairs[self.batches[key[0]].source, key[1]].distance_m * flow
            for key, flow in self.flow.items()
        )
        unsteady = sum(v for (s, d, _), v in self.visit.items() if not self.pairs[s, d].steady)
        fills = [digester.recent_fill_ppm for digester in problem.digesters]
        mean = sum(fills) // len(fills)
        unfair = sum(
            fed_mg[digester.code] * max(0, digester.recent_fill_ppm - mean)
            for digester in problem.digesters
        )
        values = (
            (sum(below), MG * TENTHS),
            (sum(overdue), 1),
            (self._changes(), 1),
            (sum(shortfall), TENTHS),
            (left, 1),
            (carrying, 1),
            (unsteady, 1),
            (unfair, PPM),
        )
        assert len(values) == len(WISHES)
        return list(values)

    def _overdue(self) -> list[Any]:
        problem, found = self.problem, []
        offering = {batch.source for batch in problem.batches}
        for source in problem.sources:
            waited = source.waited_days
            late = waited is None or waited + problem.days > problem.rules.rota_limit_days
            if source.code in offering and late:
                never = self.model.new_bool_var(f"never {source.code}")
                visits = [v for (s, _, _), v in self.visit.items() if s == source.code]
                self.model.add(sum(visits) >= 1 - never)
                found.append(never)
        return found

    def _changes(self) -> Any:
        problem = self.problem
        if problem.rules.change_budget is None:
            return 0
        before = {
            (self.batches[each.batch].source, each.digester, each.day)
            for each in problem.previous
            if each.batch in self.batches
        }
        count = sum(1 - visit if key in before else visit for key, visit in self.visit.items())
        count += len(before - self.visit.keys())
        over = self.model.new_int_var(0, 10_000, "over budget")
        self.model.add(over >= count - problem.rules.change_budget)
        return over


def best_wishes(problem: Problem) -> Mapping[str, float]:
    """The proved lexicographic best, by wish."""
    values = WholeModel(problem).solve()
    return {name: value for (name, _), value in zip(WISHES, values, strict=True)}


def can_be_kept(problem: Problem) -> bool:
    """Whether any plan keeps all limits and pins."""
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    status = solver.solve(WholeModel(problem).model)
    return status in (cp_model.OPTIMAL, cp_model.FEASIBLE)


def tiny_problem(seed: int, *, divisible: float = 1.0, days: int = 2) -> Problem:
    """A few batches and homes in which every rule may bite; coefficients in round figures."""
    rng = random.Random(seed)
    materials = (
        Material("peelings", 150_000, 2_500_000),
        Material("citrus", 120_000, 2_200_000, ("citrus",)),
        Material("bread", 590_000, 9_000_000),
    )
    digesters = tuple(_tiny_digester(f"D{i}", rng, days) for i in range(rng.randint(2, 3)))
    sources = tuple(
        Source(f"S{i}", rng.randint(1, 2), rng.choice([None, 0, 5, 13, 14])) for i in range(3)
    )
    batches = []
    for i in range(rng.randint(3, 5)):
        ready = rng.randrange(days)
        feed_by = min(days - 1, ready + rng.randint(0, 1))
        batches.append(
            Batch(
                f"B{i}",
                rng.choice(sources).code,
                rng.choice(materials).code,
                100 * rng.randint(4, 60),
                ready,
                rng.randint(ready, feed_by),
                feed_by,
                rng.random() < divisible,
            )
        )
    pairs = tuple(
        Pair(
            source.code,
            digester.code,
            10 * rng.randint(5, 90),
            tuple(rng.random() < 0.9 for _ in range(days)),
            rng.random() < 0.3,
            rng.choice([PPM, PPM, 900_000]),
        )
        for source in sources
        for digester in digesters
        if rng.random() < 0.85
    )
    bans = tuple(Ban(p.source, p.digester, rng.choice([None, 0])) for p in pairs[:1])
    previous = tuple(
        Placement(batch.code, pair.digester, batch.ready_day, 500)
        for batch in batches[:2]
        for pair in pairs[-1:]
        if pair.source == batch.source
    )
    budget = rng.choice([None, None, 1, 3])
    return Problem(
        starts_on=date(2030, 5, 6),
        days=days,
        materials=materials,
        digesters=digesters,
        sources=sources,
        batches=tuple(batches),
        pairs=pairs,
        bans=bans if rng.random() < 0.3 else (),
        previous=previous if budget is not None else (),
        rules=Rules(change_budget=budget),
    )


def make_unsure(problem: Problem, seed: int) -> Problem:
    """The problem with batches that may bring less, or more, in parts that keep loads whole."""
    rng = random.Random(f"{seed}/unsure")
    return replace(
        problem,
        batches=tuple(
            replace(
                batch,
                low_g=batch.amount_g * rng.choice([10, 8, 5, 0]) // 10,
                high_g=batch.amount_g * rng.choice([10, 12, 20]) // 10,
            )
            for batch in problem.batches
        ),
    )


def _tiny_digester(code: str, rng: random.Random, days: int) -> Digester:
    target = 10 * rng.randint(10, 60)
    vs = target + 10 * rng.randint(2, 20)
    own = (OwnWaste(0, rng.choice(["peelings", "citrus"]), 300),) if rng.random() < 0.5 else ()
    stock = (
        (StockLot(f"L-{code}", "peelings", 100 * rng.randint(3, 12), rng.randint(0, days)),)
        if rng.random() < 0.4
        else ()
    )
    return Digester(
        code=code,
        caps=tuple(DayCaps(vs * 8, vs, vs * 18) for _ in range(days)),
        target_vs_g=(target,) * days,
        min_vs_g=10 * (target * days // 20),
        bin_g=100 * rng.randint(20, 70),
        accepts=frozenset({"peelings", "citrus", "bread"} if rng.random() < 0.7 else {"peelings"}),
        max_visits_per_day=rng.randint(1, 2),
        carry_limit_g=1_000 * rng.randint(3, 8),
        min_pickup_g=500,
        share_caps=(ShareCap("citrus", 300_000, rng.choice(["vs", "mass"])),),
        own_waste=own,
        stock=stock,
        recent_fill_ppm=10_000 * rng.randint(70, 120),
    )


__all__ = ["Pin", "WholeModel", "best_wishes", "make_unsure", "tiny_problem"]
