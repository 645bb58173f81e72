"""One rule bent by so much: in a problem, or in the test of one batch at one home."""

from __future__ import annotations

from dataclasses import dataclass, replace

from apps.planning.core.problem import PPM, Digester, Problem
from apps.planning.core.room import Candidate

VOLUNTEER_LIFT_G = 15_000
"""Most a volunteer should lift at once; a group's own rule, common practice, no source."""

BY_AGREEMENT = frozenset(
    {"home_visits", "source_homes", "hours", "ban", "change_budget", "smallest_pickup"}
)
"""Rules that people can bend by agreeing to; the others guard a tank, a back or a nose, and
are offered only where none of these would do."""


@dataclass(frozen=True, slots=True)
class Bend:
    """One rule given up by `by` of `unit` at one place; `limit` is what it is now.
    `day` is the day of collection, `cap_day` the feeding day of a day's maximum."""

    rule: str
    source: str
    digester: str
    day: int
    by: int
    limit: int
    unit: str
    what: str = ""
    cap_day: int = 0

    @property
    def by_agreement(self) -> bool:
        return not self.cost_of(self.by)[0]

    def cost_of(self, by: int) -> tuple[bool, int]:
        """Of bending by so much, cheapest first: by agreement before the rest, then by the
        part it is of the limit."""
        if self.rule == "carry_limit":
            guarded = self.limit + by > VOLUNTEER_LIFT_G
        else:
            guarded = self.rule not in BY_AGREEMENT
        return guarded, by * PPM // max(1, self.limit)

    def apply(self, problem: Problem) -> Problem:
        """The problem with this rule bent and nothing else changed."""
        if self.rule == "source_homes":
            return replace(
                problem,
                sources=tuple(
                    replace(each, max_homes_per_day=each.max_homes_per_day + self.by)
                    if each.code == self.source
                    else each
                    for each in problem.sources
                ),
            )
        if self.rule == "hours":
            return replace(
                problem,
                pairs=tuple(
                    replace(
                        each,
                        meets_on_day=tuple(
                            meets or day == self.day for day, meets in enumerate(each.meets_on_day)
                        ),
                    )
                    if (each.source, each.digester) == (self.source, self.digester)
                    else each
                    for each in problem.pairs
                ),
            )
        if self.rule == "ban":
            return replace(
                problem,
                bans=tuple(
                    each
                    for each in problem.bans
                    if (each.source, each.digester) != (self.source, self.digester)
                    or each.day not in (None, self.day)
                ),
            )
        if self.rule == "change_budget":
            budget = problem.rules.change_budget or 0
            return replace(problem, rules=replace(problem.rules, change_budget=budget + self.by))
        return replace(
            problem,
            digesters=tuple(
                bend_digester(each, self) if each.code == self.digester else each
                for each in problem.digesters
            ),
        )


def bend_digester(digester: Digester, bend: Bend) -> Digester:  # noqa: PLR0911 - one a rule
    """The digester with one of its own rules bent."""
    by = bend.by
    match bend.rule:
        case "home_visits":
            return replace(digester, max_visits_per_day=digester.max_visits_per_day + by)
        case "smallest_pickup":
            return replace(digester, min_pickup_g=digester.min_pickup_g - by)
        case "carry_limit":
            return replace(digester, carry_limit_g=digester.carry_limit_g + by)
        case "bin":
            return replace(digester, bin_g=digester.bin_g + by)
        case "material":
            return replace(digester, accepts=digester.accepts | {bend.what})
        case "share_cap":
            return replace(
                digester,
                share_caps=tuple(
                    replace(cap, share_ppm=cap.share_ppm + by) if cap.group == bend.what else cap
                    for cap in digester.share_caps
                ),
            )
        case "day_maximum":
            field = {"feed": "feed_g", "vs": "vs_g", "slurry": "slurry_ml"}[bend.what]
            return replace(
                digester,
                caps=tuple(
                    replace(cap, **{field: getattr(cap, field) + by})
                    if day == bend.cap_day
                    else cap
                    for day, cap in enumerate(digester.caps)
                ),
            )
        case _:
            raise ValueError(f"{bend.rule} is not a rule of a digester.")


def bent(it: Candidate, bend: Bend) -> Candidate:
    """The candidate seen with the rule bent."""
    match bend.rule:
        case "source_homes":
            return replace(it, max_homes=it.max_homes + bend.by)
        case "hours":
            return replace(it, meets=True)
        case "ban":
            return replace(it, banned=False)
        case "change_budget":
            return replace(it, changes_left=(it.changes_left or 0) + bend.by)
        case _:
            digester = bend_digester(it.home.digester, bend)
            return replace(
                it,
                home=it.home.seen_as(digester),
                accepted=it.accepted or bend.rule == "material",
            )
