"""Made-up requests at length: `python -m tests.benchmarks.api_fuzz [--examples 500] [--who all]`.

For every operation of the API and every kind of member, requests made up from the API's own
description are sent to a throwaway database. Promise: no fault (5xx) and no answer that the
description does not have. Prints requests by status, their rate, and each failure once.
"""

from __future__ import annotations

import argparse
import logging
import os
import sys
import time
from collections import Counter
from importlib import import_module
from typing import Any

import django
from django.db import transaction
from django.test.runner import DiscoverRunner
from hypothesis import HealthCheck, Phase, given, seed, settings

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coordinator.settings")


FAULTS: list[str] = []
"""Traceback of the last fault."""


class KeepFault(logging.Handler):
    """Keeps what the API logs of a fault, to be shown with the request that met it."""

    def emit(self, record: logging.LogRecord) -> None:
        """The traceback, as text."""
        FAULTS[:] = [logging.Formatter().format(record)]


def main() -> int:
    """Return 1 when anything failed."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--examples", type=int, default=500, help="requests an operation")
    options.add_argument("--who", default="all", help="a role, `everything`, or `all`")
    options.add_argument("--only", default="", help="operations whose name contains this")
    options.add_argument("--seed", type=int, default=1)
    asked = options.parse_args()
    django.setup()
    logging.getLogger("django.request").propagate = False
    logging.getLogger("apps.api.problem").propagate = False
    logging.getLogger("apps.api.problem").addHandler(KeepFault())
    runner = DiscoverRunner(verbosity=0, interactive=False)
    databases = runner.setup_databases()
    try:
        return _run(asked)
    finally:
        runner.teardown_databases(databases)


def _run(asked: argparse.Namespace) -> int:
    fuzzing = import_module("tests.api.fuzzing")
    make_cast = import_module("tests.cast").make_cast
    schema = fuzzing.load_schema()
    with transaction.atomic():
        there = fuzzing.Neighbourhood(make_cast(fuzzing.today_cast_instant(), history_days=3))
        who = list(there.headers) if asked.who == "all" else [asked.who]
        statuses: Counter[int] = Counter()
        failures: dict[str, str] = {}
        started = time.perf_counter()
        for found in schema.get_all_operations():
            operation = found.ok()
            name = operation.definition.raw["operationId"]
            if asked.only in name:
                for role in who:
                    _send_many(fuzzing, there, operation, name, role, asked, statuses, failures)
        took_s = time.perf_counter() - started
        transaction.set_rollback(True)
    _report(statuses, failures, took_s)
    return 1 if failures else 0


def _send_many(
    fuzzing: Any,
    there: Any,
    operation: Any,
    name: str,
    role: str,
    asked: argparse.Namespace,
    statuses: Counter[int],
    failures: dict[str, str],
) -> None:
    @seed(asked.seed)
    @given(case=operation.as_strategy())
    @settings(
        max_examples=asked.examples,
        deadline=None,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    def run(case: Any) -> None:
        try:
            statuses[fuzzing.send(there, case, role)] += 1
        except (Exception, BaseExceptionGroup) as error:  # each kind is to be listed, once
            said = f"{error}\n{FAULTS.pop() if FAULTS else ''}"
            kind = next((line for line in said.splitlines() if line.startswith("- ")), said[:80])
            failures.setdefault(f"{name}: {kind}", f"as {role}\n{said}")

    run()


def _report(statuses: Counter[int], failures: dict[str, str], took_s: float) -> None:
    total = sum(statuses.values())
    out = [f"{'status':>8} {'requests':>9}"]
    out += [f"{status:>8} {count:>9}" for status, count in sorted(statuses.items())]
    out.append(f"{total} requests in {took_s:.0f} s ({total / took_s:.0f} a second)")
    out += [f"\n{name}\n{said}" for name, said in failures.items()]
    out.append(f"\n{len(failures)} kinds of failure")
    sys.stdout.write("\n".join(out) + "\n")


if __name__ == "__main__":
    sys.exit(main())
