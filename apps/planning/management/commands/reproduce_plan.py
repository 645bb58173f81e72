"""Make a plan again from its own document, and compare."""

from __future__ import annotations

from typing import Any

from django.core.management.base import CommandError

from apps.groups.models import Group
from apps.planning.management.plan_command import PlanCommand
from apps.planning.models import Plan
from apps.planning.operations.reproduce_plan import reproduce_plan


class Command(PlanCommand):
    help = "Solve a stored plan's problem again and say whether the same plan comes out."

    def run_for(self, group: Group, plan: Plan | None, options: dict[str, Any]) -> None:
        assert plan is not None
        found = reproduce_plan(plan)
        if not found.is_same:
            what = ", ".join(found.differences) or "inputs"
            raise CommandError(
                f"Plan {plan.version} comes out differently: {what} "
                f"(made with {found.engine_then}, now {found.engine_now})."
            )
        self.stdout.write(f"Plan {plan.version} comes out the same, with {found.engine_now}.")
