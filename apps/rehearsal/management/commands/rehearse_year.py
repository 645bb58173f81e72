"""Rehearse a year of a group's neighbourhood here and now, and print what it comes to."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from apps.groups.models import Group
from apps.kernel.days import local_date
from apps.kernel.errors import Refused
from apps.rehearsal.core.run import PolicyName
from apps.rehearsal.models import Rehearsal
from apps.rehearsal.operations.live_stretch import go_further
from apps.rehearsal.operations.start_rehearsal import start_rehearsal


class Command(BaseCommand):
    help = "Rehearse a year with the service, by hand and with perfect foresight; print the table."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--group", required=True, help="the group's code")
        parser.add_argument("--days", type=int, default=365)
        parser.add_argument("--seed", type=int, default=1)
        parser.add_argument("--go-on", help="take up a rehearsal of this identifier again")

    def handle(self, *args: Any, **options: Any) -> None:
        group = Group.objects.filter(code=options["group"]).first()
        if group is None:
            raise CommandError(f"There is no group called {options['group']!r}.")
        now = datetime.now(UTC)
        if options["go_on"]:
            rehearsal = Rehearsal.objects.of(group).filter(uuid=options["go_on"]).first()
            if rehearsal is None:
                raise CommandError("There is no such rehearsal.")
        else:
            try:
                rehearsal = start_rehearsal(
                    group,
                    name=f"As it is, year {options['seed']}",
                    first_on=local_date(now, group.time_zone),
                    days=options["days"],
                    seed=options["seed"],
                    now=now,
                )
            except Refused as refused:
                raise CommandError(str(refused)) from refused
        self.stdout.write(f"rehearsal {rehearsal.uuid}")
        while True in [
            go_further(rehearsal, each.value, now=datetime.now(UTC)) for each in PolicyName
        ]:
            pass
        rehearsal.refresh_from_db()
        if not rehearsal.figures:
            raise CommandError(f"It is {rehearsal.get_state_display()}: start it anew.")
        for policy, each in rehearsal.figures["policies"].items():
            inside = each["days_inside"] / max(1, each["days"])
            self.stdout.write(
                f"{policy:8} inside {inside:.1%}, placed {each['placed_g'] / 1000:.0f} kg,"
                f" walks {each['walks']}, soured {each['soured']}"
            )
        for each in rehearsal.figures["targets"]:
            mark = "" if each["is_reached"] else "   NOT REACHED"
            self.stdout.write(f"{each['name']:26} {each['wanted']:8} {each['reached']}{mark}")
