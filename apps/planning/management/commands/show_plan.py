"""Print a plan as a readable table."""

from __future__ import annotations

from typing import Any

from apps.groups.models import Group
from apps.planning.management.plan_command import PlanCommand
from apps.planning.models import Plan
from apps.planning.queries.show_plan import show_plan


class Command(PlanCommand):
    help = "Print a plan: who brings what to whom, feeds, recipes, rules, left-overs."

    def run_for(self, group: Group, plan: Plan | None, options: dict[str, Any]) -> None:
        assert plan is not None
        self.stdout.write(show_plan(plan))
