"""Check a plan with the independent verifier."""

from __future__ import annotations

from typing import Any

from django.core.management.base import CommandError

from apps.groups.models import Group
from apps.planning.management.plan_command import PlanCommand
from apps.planning.models import Plan
from apps.planning.verifier.verify import verify


class Command(PlanCommand):
    help = "Check a plan with the verifier that reads only the exported document."

    def run_for(self, group: Group, plan: Plan | None, options: dict[str, Any]) -> None:
        assert plan is not None
        violations = verify(plan.document)
        for violation in violations:
            self.stdout.write(f"{violation.rule}: {violation.place}: {violation.sentence}")
        if violations:
            raise CommandError(f"Plan {plan.version}: {len(violations)} violation(s).")
        self.stdout.write(f"Plan {plan.version}: 0 violations.")
