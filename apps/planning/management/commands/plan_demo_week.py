"""Make, announce and print the demo neighbourhood's week; running it twice harms nothing."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from apps.groups.models import Group
from apps.kernel.days import local_date
from apps.kernel.errors import Refused
from apps.planning.operations.announce_plan import announce_plan
from apps.planning.operations.make_plan import make_plan
from apps.planning.queries.find_plan import announced_plan
from apps.planning.queries.show_plan import show_plan

DEMO_GROUP = "porto-lanterna"
"""Code of the neighbourhood in fixtures/demo."""


class Command(BaseCommand):
    help = (
        "Make and announce the demo's plan for the next seven days, unless it is there; print it."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--group", default=DEMO_GROUP, help="the group's code")

    def handle(self, *args: Any, **options: Any) -> None:
        group = Group.objects.filter(code=options["group"]).first()
        if group is None:
            raise CommandError(f"There is no group called {options['group']!r}: load_demo first.")
        now = datetime.now(UTC)
        tomorrow = local_date(now, group.time_zone) + timedelta(days=1)
        plan = announced_plan(group)
        if plan is None or plan.starts_on != tomorrow:
            try:
                plan = announce_plan(make_plan(group, now=now, starts_on=tomorrow), now=now)
            except Refused as refused:
                raise CommandError(str(refused)) from refused
        self.stdout.write(show_plan(plan))
