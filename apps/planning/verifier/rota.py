"""No source waits past the rota's limit where a home could have had it visited anyway.

Some sources must wait in a glut. But where one more smallest pickup, fed the same day, passes
no limit beside all that the plan holds, nobody had to be forgotten.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from apps.planning.verifier.limits import limits_passed
from apps.planning.verifier.reading import Plan
from apps.planning.verifier.violation import Violation
from apps.planning.verifier.wishes import overdue_sources


def sources_forgotten(plan: Plan) -> Iterator[Violation]:
    if plan.document["rules"]["change_budget"] is not None:
        return  # a visit more may be a change too many
    batches: dict[str, list[dict[str, Any]]] = {}
    for batch in plan.batches.values():
        batches.setdefault(batch["source"], []).append(batch)
    homes: dict[str, list[str]] = {}
    for source, digester in sorted(plan.pairs):
        homes.setdefault(source, []).append(digester)
    for source in overdue_sources(plan):
        visit = next(
            (
                visit
                for digester in homes.get(source, [])
                for visit in _possible_visits(plan, batches[source], digester)
            ),
            None,
        )
        if visit is not None:
            yield Violation(
                "source_forgotten",
                source,
                visit["amount_g"],
                f"{source} passes the waiting limit, but {visit['digester']} could take "
                f"{visit['amount_g']} g of {visit['batch']} on {visit['on']}.",
            )


def _possible_visits(
    plan: Plan, batches: list[dict[str, Any]], digester: str
) -> Iterator[dict[str, Any]]:
    home = plan.digesters[digester]
    at_home: dict[str, Any] | None = None
    faults = 0
    for batch in batches:
        amount_g = max(1, home["min_pickup_g"]) if batch["divisible"] else batch["amount_g"]
        if batch["material"] not in home["accepts"] or not 0 < amount_g <= batch["amount_g"]:
            continue
        for on in plan.pairs[batch["source"], digester]["meets_on"]:
            if on not in plan.days or amount_g > plan.digester_days[digester, on]["plan_feed_g"]:
                continue
            if at_home is None:
                at_home = _one_home(plan, digester)
                faults = len(list(limits_passed(Plan(at_home))))
            row = {
                "digester": digester,
                "on": on,
                "amount_g": amount_g,
                "usable_g": 0,
            }
            visit = row | {"batch": batch["code"], "source": batch["source"]}
            feed = row | {"lot": batch["code"], "material": batch["material"]}
            trial = at_home | {
                "placements": [*at_home["placements"], visit],
                "feeds": [*at_home["feeds"], feed],
            }
            if len(list(limits_passed(Plan(trial)))) <= faults:
                yield visit


def _one_home(plan: Plan, digester: str) -> dict[str, Any]:
    """The plan as one home sees it; an overdue source has no visit elsewhere to count."""
    document = plan.document
    return document | {
        name: [row for row in document[name] if row[field] == digester]
        for name, field in (
            ("digesters", "code"),
            ("digester_days", "digester"),
            ("placements", "digester"),
            ("feeds", "digester"),
            ("started", "digester"),
            ("pins", "digester"),
        )
    }
