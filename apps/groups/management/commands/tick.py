"""Do what is due: once, or again and again."""

from __future__ import annotations

import signal
import threading
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.db import close_old_connections

from apps.groups.operations.do_work import do_due_work
from apps.groups.operations.plan_daily_work import plan_daily_work


class Command(BaseCommand):
    """`tick` for a cron line, `tick --every 20` for a process of its own."""

    help = __doc__

    def add_arguments(self, parser: CommandParser) -> None:
        """Seconds between two rounds; without it, one round."""
        parser.add_argument("--every", type=float, default=0, metavar="SECONDS")

    def handle(self, *args: Any, **options: Any) -> None:
        """Run until told to stop."""
        stop = threading.Event()
        if options["every"]:
            signal.signal(signal.SIGTERM, lambda *_: stop.set())
            signal.signal(signal.SIGINT, lambda *_: stop.set())
        while True:
            plan_daily_work()
            done = do_due_work()
            if done:
                self.stdout.write(f"Done: {done} pieces of work.")
            close_old_connections()
            if not options["every"] or stop.wait(options["every"]):
                return
