"""What the announced plan means to feed, own kitchen waste included."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from datetime import date
from functools import lru_cache
from typing import Any
from uuid import UUID

from apps.groups.models import Group
from apps.planning.models import Plan, PlanStatus

Feeds = dict[str, dict[date, dict[str, int]]]

PLANS_KEPT = 4
"""Plans a process keeps in mind: the pieces of a group's evening follow one another."""


def announced_feeds(group: Group, after: date, digesters: Collection[str]) -> Feeds:
    """Grams by digester code, day after `after` and material code, of the digesters named.

    One query, and one more for the first who asks after a plan is announced: an announced plan
    never changes, so what it feeds is kept by its name.
    """
    announced = (
        Plan.objects.of(group)
        .filter(status=PlanStatus.ANNOUNCED)
        .values_list("uuid", flat=True)
        .first()
    )
    if announced is None:
        return {}
    feeds = _feeds_of(announced)
    found = {
        code: {on: dict(grams) for on, grams in feeds[code].items() if on > after}
        for code in digesters
        if code in feeds
    }
    return {code: days for code, days in found.items() if days}


@lru_cache(maxsize=PLANS_KEPT)
def _feeds_of(plan: UUID) -> Mapping[str, Mapping[date, Mapping[str, int]]]:
    """All that an announced plan feeds; of its document only the two lists that tell it."""
    row = Plan.unscoped.filter(uuid=plan).values_list("document__digester_days", "document__feeds")
    days, feeds = row.get()
    found: Feeds = defaultdict(lambda: defaultdict(dict))
    for day in days or ():
        _add(found[day["digester"]][date.fromisoformat(day["on"])], _own(day))
    for feed in feeds or ():
        grams = found[feed["digester"]][date.fromisoformat(feed["on"])]
        _add(grams, [(feed["material"], feed["usable_g"])])
    return {code: dict(each) for code, each in found.items()}


def _own(day: dict[str, Any]) -> Iterable[tuple[str, int]]:
    return ((own["material"], own["amount_g"]) for own in day.get("own_waste", ()))


def _add(grams: dict[str, int], more: Iterable[tuple[str, int]]) -> None:
    for code, amount_g in more:
        grams[code] = grams.get(code, 0) + amount_g
