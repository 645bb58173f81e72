"""Run everything a small installation needs: the web server and the ticking of work.

No broker. Both are processes of their own; when one dies it is started again, and when the
supervisor is told to stop it stops both.
"""

from __future__ import annotations

import signal
import subprocess
import sys
import time
from pathlib import Path
from types import FrameType
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

PAUSE_AFTER_DEATH_S = 2.0


class Command(BaseCommand):
    """`serve` until interrupted."""

    help = __doc__

    def add_arguments(self, parser: CommandParser) -> None:
        """Where to listen, and how many web processes."""
        parser.add_argument("--bind", default="127.0.0.1:8000", metavar="HOST:PORT")
        parser.add_argument("--workers", type=int, default=2)
        parser.add_argument("--tick", type=float, default=20.0, metavar="SECONDS")

    def handle(self, *args: Any, **options: Any) -> None:
        """Start both, watch both, stop both."""
        scripts = Path(sys.executable).parent
        manage = Path(sys.argv[0]).resolve()
        commands = [
            [
                str(scripts / "gunicorn"),
                "coordinator.wsgi:application",
                f"--bind={options['bind']}",
                f"--workers={options['workers']}",
                "--threads=4",
                "--preload",
                "--access-logfile=/dev/null",
            ],
            [sys.executable, str(manage), "tick", f"--every={options['tick']}"],
        ]
        self.stopping = False
        signal.signal(signal.SIGTERM, self._stop)
        signal.signal(signal.SIGINT, self._stop)
        running = [subprocess.Popen(command, cwd=manage.parent) for command in commands]
        self.stdout.write(f"Serving on http://{options['bind']}/ (Ctrl-C stops).")
        while not self.stopping:
            time.sleep(0.5)
            for index, process in enumerate(running):
                if process.poll() is not None and not self.stopping:
                    self.stderr.write(f"{commands[index][0]} stopped; starting it again.")
                    time.sleep(PAUSE_AFTER_DEATH_S)
                    running[index] = subprocess.Popen(commands[index], cwd=manage.parent)
        for process in running:
            process.terminate()
        for process in running:
            process.wait(timeout=20)

    def _stop(self, _signal: int, _frame: FrameType | None) -> None:
        self.stopping = True
