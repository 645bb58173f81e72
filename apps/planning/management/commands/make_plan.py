"""Make a draft plan, and announce it when asked to."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any

from django.core.management.base import CommandParser

from apps.groups.models import Group
from apps.planning.management.plan_command import PlanCommand
from apps.planning.models import Plan
from apps.planning.operations.announce_plan import announce_plan
from apps.planning.operations.make_plan import make_plan
from apps.planning.queries.show_plan import show_plan


class Command(PlanCommand):
    help = "Make a draft plan for a group's next days."
    makes_plan = True

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("--starts-on", type=date.fromisoformat, help="YYYY-MM-DD; tomorrow")
        parser.add_argument("--days", type=int, default=7)
        parser.add_argument("--seed", type=int, default=0)
        parser.add_argument("--announce", action="store_true", help="announce it at once")
        parser.add_argument("--show", action="store_true", help="print it")

    def run_for(self, group: Group, plan: Plan | None, options: dict[str, Any]) -> None:
        now = datetime.now(UTC)
        made = make_plan(
            group,
            now=now,
            starts_on=options["starts_on"],
            days=options["days"],
            seed=options["seed"],
        )
        if options["announce"]:
            announce_plan(made, now=now)
        if options["show"]:
            self.stdout.write(show_plan(made))
        self.stdout.write(f"Plan {made.version} of {group.code} from {made.starts_on} is made.")
