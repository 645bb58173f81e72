"""An evening of the living digesters through the database, piece by piece.

    python -m tests.benchmarks.digestion_evening [most digesters]

Thirty days fed and read lie behind each. The first evening follows all of them from ninety days
before; the second only one day. A piece must end well within its lease of 60 s, and the cost of a
digester must not grow with their number. DATABASE_URL chooses the database.
"""

from __future__ import annotations

import sys
from datetime import timedelta
from time import perf_counter, process_time

from tests.benchmarks.own_database import own_database

HISTORY_DAYS = 30


def main(most: int) -> None:
    """Prints the table."""
    print("  digesters  evening   pieces  slowest piece s  processor ms a digester")
    for count in (most // 4, most // 2, most):
        with own_database():
            evenings(count)


def evenings(count: int) -> None:
    """Models need Django set up."""
    from apps.digesters.models import Digester, Reading, ReadingKind  # noqa: PLC0415
    from apps.digesters.operations.add_digester import add_digester  # noqa: PLC0415
    from apps.digesters.operations.update_model import (  # noqa: PLC0415
        update_every_model,
        update_some_models,
    )
    from apps.groups.models import Work  # noqa: PLC0415
    from tests.cast import _days_before, _feed, make_cast  # noqa: PLC0415

    cast = make_cast(history_days=0)
    days = _days_before(cast.today, HISTORY_DAYS)
    digesters = []
    for number in range(count):
        fresh = Digester(
            **{
                each.attname: getattr(cast.drum, each.attname)
                for each in Digester._meta.concrete_fields
                if each.attname
                not in ("id", "uuid", "code", "account_id", "bin_account_id", "created_at")
            },
            code=f"d{number:05d}",
        )
        digester = add_digester(cast.group, fresh, now=cast.now)
        _feed(cast.quay_stall, digester, cast.materials, 2_500, days, cast.now)
        digesters.append(digester)
    Reading.unscoped.bulk_create(
        Reading(
            group=cast.group,
            digester=digester,
            kind=kind,
            value=value + 7 * (number % 11) if kind == ReadingKind.DRUM_HEIGHT else value,
            taken_at=cast.now - timedelta(days=back),
            on=cast.today - timedelta(days=back),
            client_key=f"{kind}-{digester.code}-{back}",
        )
        for number, digester in enumerate(digesters)
        for back in range(HISTORY_DAYS)
        for kind, value in ((ReadingKind.DRUM_HEIGHT, 400), (ReadingKind.BURNER, 60))
    )
    for name, later in (("first", 0), ("second", 1)):
        now = cast.now + timedelta(days=later)
        every = Work(group=cast.group, kind="update_every_model", key=f"evening-{later}")
        began, slowest = process_time(), 0.0
        update_every_model(every, now=now)
        pieces = Work.objects.of(cast.group).filter(key__startswith=f"{every.key}/")
        for piece in pieces:
            before = perf_counter()
            update_some_models(piece, now=now)
            slowest = max(slowest, perf_counter() - before)
        each_ms = (process_time() - began) / count * 1000
        print(f"  {count:9d}  {name:7s} {len(pieces):7d} {slowest:16.1f} {each_ms:12.1f}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200)
