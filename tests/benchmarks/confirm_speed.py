"""How fast is a confirmation beside a bare view that inserts one row, in the same run?

    python -m tests.benchmarks.confirm_speed [--clients 8] [--each 60]

Both go through the same middleware and the same database; DATABASE_URL chooses it. Three homes
fetch from three sources. Bar: at
least 0.25 of the bare view's throughput on PostgreSQL, 0.30 on SQLite, at most 12 statements.
"""

from __future__ import annotations

import argparse
import threading
import time
from collections.abc import Callable
from datetime import timedelta
from typing import Any

from tests.benchmarks.own_database import own_database

urlpatterns: list[Any] = []
BARS = {"postgresql": 0.25, "sqlite": 0.30}
TURNS = 4
"""Bare and confirm take turns, so that a busy machine slows both."""


def main() -> None:
    """Prints the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--clients", type=int, default=8)
    parser.add_argument("--each", type=int, default=60)
    asked = parser.parse_args()
    with own_database() as vendor:
        run(vendor, asked.clients, asked.each)


def run(vendor: str, clients: int, each: int) -> None:
    """Models need Django set up."""
    from django.db import connection  # noqa: PLC0415
    from django.http import HttpRequest, HttpResponse  # noqa: PLC0415
    from django.test import Client, override_settings  # noqa: PLC0415
    from django.test.utils import CaptureQueriesContext  # noqa: PLC0415
    from django.urls import path  # noqa: PLC0415

    from apps.groups.models import Fact  # noqa: PLC0415
    from apps.pickups.core.life import COMPLETE, Party  # noqa: PLC0415
    from apps.pickups.models import Pickup  # noqa: PLC0415
    from apps.pickups.operations.complete_pickup import complete_pickup  # noqa: PLC0415
    from apps.pickups.operations.sync_pickups import sync_pickups  # noqa: PLC0415
    from apps.pickups.operations.take_step import Act, Actor  # noqa: PLC0415
    from tests.cast import make_cast  # noqa: PLC0415
    from tests.pickups.plans import write_plan  # noqa: PLC0415

    cast = make_cast(history_days=0)
    count = clients * each
    later = cast.now + timedelta(days=count)

    def bare(request: HttpRequest) -> HttpResponse:
        Fact.unscoped.create(group=cast.group, kind="bare", happened_at=later)
        return HttpResponse("done")

    def confirm(request: HttpRequest, uuid: str) -> HttpResponse:
        act = Act(COMPLETE, Actor(fetchers[str(uuid)], Party.FETCHER), f"k-{uuid}", later)
        complete_pickup(cast.group, uuid, act)
        return HttpResponse("done")

    urlpatterns[:] = [path("bare/", bare), path("confirm/<uuid:uuid>/", confirm)]
    pairs = (
        (cast.vegetables, cast.drum),
        (cast.peelings, cast.dome),
        (cast.grass, cast.bag),
    )
    asked = [(*pairs[number % 3], number // 3, 3_000) for number in range(count + 6)]
    sync_pickups(write_plan(cast, asked), now=cast.now)
    pickups = Pickup.objects.of(cast.group).select_related("fetcher")
    fetchers = {str(pickup.uuid): pickup.fetcher for pickup in pickups}
    uuids = list(fetchers)
    first, (second, *rest) = uuids[:3], uuids[5:]
    with override_settings(ROOT_URLCONF=__name__, ALLOWED_HOSTS=["*"]):
        # The first of each pair opens the balances of its bin and source.
        for uuid in first:
            Client().post(f"/confirm/{uuid}/")
        with CaptureQueriesContext(connection) as seen:
            Client().post(f"/confirm/{second}/")
        walls = {"bare": 0.0, "confirm": 0.0}
        waits: dict[str, list[float]] = {"bare": [], "confirm": []}
        for turn in range(TURNS):
            part = rest[turn::TURNS]
            for name, paths in (
                ("bare", ["/bare/"] * len(part)),
                ("confirm", [f"/confirm/{uuid}/" for uuid in part]),
            ):
                walls[name] += together(
                    paths,
                    clients,
                    waits[name],
                    Client,
                    lambda: connection.close(),  # noqa: PLW0108  this thread's own
                )
    rates = {name: count / wall for name, wall in walls.items()}
    p95 = {name: sorted(each)[len(each) * 95 // 100] for name, each in waits.items()}
    control = ("BEGIN", "COMMIT", "SAVEPOINT", "RELEASE")
    statements = sum(not query["sql"].startswith(control) for query in seen)
    ratio = rates["confirm"] / rates["bare"]
    print(f"{vendor}, {clients} clients, {count} requests each way")
    print("| path | a second | p95 ms |\n|---|---|---|")
    for name in ("bare", "confirm"):
        print(f"| {name} | {rates[name]:.0f} | {p95[name] * 1000:.0f} |")
    print(
        f"confirm is {ratio:.2f} of bare (bar {BARS[vendor]:.2f}), p95 "
        f"{p95['confirm'] / p95['bare']:.1f} times; {statements} statements"
    )


def together(
    paths: list[str],
    clients: int,
    waits: list[float],
    client_class: Callable[[], Any],
    close: Callable[[], None],
) -> float:
    """Post all paths, shared over so many threads; seconds for all."""
    gate = threading.Barrier(clients + 1)

    def work(mine: list[str]) -> None:
        client = client_class()
        client.get("/bare-warm/")
        gate.wait()
        for path in mine:
            began = time.perf_counter()
            assert client.post(path).status_code == 200, path
            waits.append(time.perf_counter() - began)
        close()

    threads = [
        threading.Thread(target=work, args=[paths[number::clients]]) for number in range(clients)
    ]
    for thread in threads:
        thread.start()
    gate.wait()
    began = time.perf_counter()
    for thread in threads:
        thread.join()
    return time.perf_counter() - began


if __name__ == "__main__":
    main()
