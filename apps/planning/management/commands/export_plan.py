"""Write a plan into a folder."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser

from apps.groups.models import Group
from apps.planning.management.plan_command import PlanCommand
from apps.planning.models import Plan
from apps.planning.queries.plan_files import plan_csv_files, plan_json, plan_xlsx


class Command(PlanCommand):
    help = "Write a plan as plan.json, plan.xlsx and one CSV a table."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("--to", required=True, help="folder; made when missing")

    def run_for(self, group: Group, plan: Plan | None, options: dict[str, Any]) -> None:
        assert plan is not None
        folder = Path(options["to"])
        folder.mkdir(parents=True, exist_ok=True)
        (folder / "plan.json").write_bytes(plan_json(plan))
        (folder / "plan.xlsx").write_bytes(plan_xlsx(plan))
        for name, text in plan_csv_files(plan).items():
            (folder / name).write_text(text, encoding="utf-8", newline="")
        self.stdout.write(f"Plan {plan.version} of {group.code} is in {folder}.")
