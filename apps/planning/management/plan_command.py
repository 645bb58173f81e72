"""What the commands about plans have in common."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from apps.groups.models import Group
from apps.kernel.errors import Refused
from apps.planning.models import Plan
from apps.planning.queries.find_plan import find_plan


class PlanCommand(BaseCommand):
    """Takes `--group` and, unless `makes_plan`, `--plan`; says refusals as plain errors."""

    makes_plan = False

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--group", required=True, help="the group's code")
        if not self.makes_plan:
            parser.add_argument(
                "--plan",
                type=int,
                help="version; without it the newest draft, else the announced plan",
            )

    def handle(self, *args: Any, **options: Any) -> None:
        group = Group.objects.filter(code=options["group"]).first()
        if group is None:
            raise CommandError(f"There is no group called {options['group']!r}.")
        try:
            plan = None if self.makes_plan else find_plan(group, options["plan"])
            self.run_for(group, plan, options)
        except Refused as refused:
            raise CommandError(str(refused)) from refused

    def run_for(self, group: Group, plan: Plan | None, options: dict[str, Any]) -> None:
        """Do what the command is for; `plan` is None only where the command makes one."""
        raise NotImplementedError
