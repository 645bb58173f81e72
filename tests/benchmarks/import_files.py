"""How long the largest imports take: `python -m tests.benchmarks.import_files`.

Bar: at most 10 s and 150 MB more memory for 5,000 rows. Runs on a throwaway test database.
Seconds are of this process (SQLite works inside it), so that a busy machine changes little.
"""

from __future__ import annotations

import os
import resource
import time
from datetime import timedelta

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coordinator.settings")
django.setup()

from django.db import connection, transaction  # noqa: E402

from apps.reports.exchange.apply_import import apply_import  # noqa: E402
from apps.reports.exchange.export_sheet import export_sheet  # noqa: E402
from apps.reports.exchange.preview_import import preview_import  # noqa: E402
from tests.cast import Cast, make_cast  # noqa: E402

ROWS = 5_000
MOST_SECONDS, MOST_MB = 10, 150


def files(cast: Cast) -> dict[str, str]:
    """One file of 5,000 rows for each kind that may be so long."""
    day = cast.today
    return {
        "people": "code,name,roles\n" + "".join(f"p{n},P {n},carrier\n" for n in range(ROWS)),
        "places": "code,name,latitude,longitude,hours\n"
        + "".join(f"h{n},H {n},38.5,-9.1,Mo-Sa 08:00-12:00\n" for n in range(ROWS)),
        "sources": "code,name,kind,place\n"
        + "".join(f"s{n},S {n},shop,h{n}\n" for n in range(ROWS)),
        "streams": "code,source,material,monday_kg\n"
        + "".join(f"t{n},s{n},bread,2.5\n" for n in range(ROWS)),
        "offers": "stream,on,amount_kg\n" + "".join(f"t{n},{day},1.5\n" for n in range(ROWS)),
        "collections": "source,digester,on,material,delivered_kg\n"
        + "".join(f"s{n},duarte-drum,{day},bread,1.5\n" for n in range(ROWS)),
        "feedings": "digester,on,material,amount_kg\n"
        + "".join(f"duarte-drum,{day - timedelta(days=n)},bread,1.5\n" for n in range(1, ROWS + 1)),
    }


def peak_mb() -> float:
    """Largest resident set so far."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def main() -> None:
    """Print one line a sheet; exit code 1 when a bar is missed."""
    connection.creation.create_test_db(verbosity=0)
    missed = False
    with transaction.atomic():
        cast = make_cast()
        start_mb = peak_mb()
        print(f"{connection.vendor}: {ROWS} rows each")
        for name, text in files(cast).items():
            data = text.encode()
            began = time.process_time()
            preview = preview_import(cast.group, name, data, now=cast.now)
            previewed = time.process_time()
            assert preview.is_clean, str(preview.problems[0])
            applied = apply_import(cast.group, name, data, now=cast.now)
            seconds = time.process_time() - previewed
            assert applied.added == ROWS
            began_export = time.process_time()
            export_sheet(cast.group, name, "xlsx")
            exported = time.process_time() - began_export
            more_mb = peak_mb() - start_mb
            missed |= seconds > MOST_SECONDS or more_mb > MOST_MB
            print(
                f"{name:<12} preview {previewed - began:5.2f} s  apply {seconds:5.2f} s  "
                f"export xlsx {exported:5.2f} s  peak +{more_mb:4.0f} MB"
            )
        transaction.set_rollback(True)
    connection.creation.destroy_test_db("", verbosity=0)
    if missed:
        raise SystemExit("A bar was missed: 10 s, 150 MB.")


if __name__ == "__main__":
    main()
