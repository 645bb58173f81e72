"""Make the process model's states anew from feedings and readings, and compare."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from apps.digesters.models import Digester
from apps.digesters.operations.rebuild_states import rebuild_states
from apps.groups.models import Group


class Command(BaseCommand):
    """Prints, for each digester, how many days came out as they were stored."""

    help = "Make the process model's states anew from feedings and readings, and compare."

    def add_arguments(self, parser: CommandParser) -> None:
        """All digesters of all groups unless told otherwise."""
        parser.add_argument("--group", help="Code of a group.")
        parser.add_argument("--digester", help="Code of one digester; needs --group.")
        parser.add_argument("--since", type=date.fromisoformat, help="First day, like 2026-05-31.")

    def handle(self, *args: Any, **options: Any) -> None:
        """Group by group."""
        if options["digester"] and not options["group"]:
            raise CommandError("Name the group of the digester with --group.")
        groups = Group.objects.order_by("code")
        if options["group"]:
            groups = groups.filter(code=options["group"])
            if not groups:
                raise CommandError(f"There is no group {options['group']}; look at its code again.")
        for group in groups:
            digesters = Digester.objects.of(group).select_related("group", "place")
            if options["digester"]:
                digesters = digesters.filter(code=options["digester"])
                if not digesters:
                    raise CommandError(f"{group.code} has no digester {options['digester']}.")
            for rebuilt in rebuild_states(
                group, digesters, now=datetime.now(UTC), since=options["since"]
            ):
                self.stdout.write(
                    f"{group.code} {rebuilt.digester}: {rebuilt.same_days} days as stored, "
                    f"{rebuilt.changed_days} changed, {rebuilt.new_days} new."
                )
