"""No source waits past the rota's limit where a home could have had it visited anyway.

Some sources must wait in a glut. But where one more smallest pickup, fed the same day, passes
no limit beside all that the plan holds, nobody had to be forgotten.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from typing import Any

from apps.planning.verifier.limits import limits_passed
from apps.planning.verifier.reading import Plan
from apps.planning.verifier.violation import Violation
from apps.planning.verifier.wishes import overdue_sources

Row = dict[str, Any]


def sources_forgotten(plan: Plan) -> Iterator[Violation]:
    if plan.document["rules"]["change_budget"] is not None:
        return  # a visit more may be a change too many
    overdue = overdue_sources(plan)
    if overdue:
        rota = _Rota(plan)
        for source in overdue:
            visit = next(rota.possible_visits(source), None)
            if visit is not None:
                yield Violation(
                    "source_forgotten",
                    source,
                    visit["amount_g"],
                    f"{source} passes the waiting limit, but {visit['digester']} could take "
                    f"{visit['amount_g']} g of {visit['batch']} on {visit['on']}.",
                )


class _Rota:
    """The plan home by home, to try one more visit at a home."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.batches: dict[str, list[Row]] = defaultdict(list)
        for batch in plan.batches.values():
            self.batches[batch["source"]].append(batch)
        self.homes: dict[str, list[str]] = defaultdict(list)
        for source, digester in sorted(plan.pairs):
            self.homes[source].append(digester)
        self.visits = Counter((digester, on) for _, digester, on in plan.visits)
        self.rows: dict[str, dict[str, list[Row]]] = {}
        for name in ("digester_days", "placements", "feeds", "started", "pins", "pairs"):
            self.rows[name] = defaultdict(list)
            for row in plan.document[name]:
                self.rows[name][row["digester"]].append(row)

    def possible_visits(self, source: str) -> Iterator[Row]:
        for digester in self.homes[source]:
            at_home: Row | None = None
            faults = 0
            for visit, feed in self._tries(source, digester):
                if at_home is None:
                    at_home = self._one_home(digester, source)
                    faults = len(list(limits_passed(Plan(at_home))))
                trial = at_home | {
                    "placements": [*at_home["placements"], visit],
                    "feeds": [*at_home["feeds"], feed],
                }
                if len(list(limits_passed(Plan(trial)))) <= faults:
                    yield visit

    def _tries(self, source: str, digester: str) -> Iterator[tuple[Row, Row]]:
        """Smallest pickups, and their feeds, that are not hopeless at first sight."""
        plan = self.plan
        home = plan.digesters[digester]
        for batch in self.batches[source]:
            amount_g = max(1, home["min_pickup_g"]) if batch["divisible"] else batch["amount_g"]
            if batch["material"] not in home["accepts"] or not 0 < amount_g <= batch["amount_g"]:
                continue
            for on in plan.pairs[source, digester]["meets_on"]:
                if not batch["ready_on"] <= on <= batch["collect_by_on"] or on not in plan.days:
                    continue
                usable_g = amount_g * plan.usable_ppm(source, digester) // 1_000_000
                full = usable_g > plan.digester_days[digester, on]["plan_feed_g"]
                if full or self.visits[digester, on] >= home["max_visits_per_day"]:
                    continue
                row = {
                    "digester": digester,
                    "on": on,
                    "amount_g": amount_g,
                    "usable_g": usable_g,
                }
                yield (
                    row | {"batch": batch["code"], "source": source},
                    row | {"lot": batch["code"], "material": batch["material"]},
                )

    def _one_home(self, digester: str, source: str) -> Row:
        """The plan as one home sees it; an overdue source has no visit elsewhere to count."""
        rows = {name: by_home[digester] for name, by_home in self.rows.items()}
        codes = {row["batch"] for name in ("placements", "started", "pins") for row in rows[name]}
        batches = [*(self.plan.batches[code] for code in sorted(codes)), *self.batches[source]]
        by_code = {batch["code"]: batch for batch in batches}
        return self.plan.document | {
            **rows,
            "digesters": [self.plan.digesters[digester]],
            "batches": list(by_code.values()),
            "sources": [
                self.plan.sources[code]
                for code in sorted({batch["source"] for batch in by_code.values()})
            ],
            "previous": [],
        }
