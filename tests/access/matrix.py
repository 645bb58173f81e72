"""The reviewed table of who may do what: `python -m tests.access` writes it anew.

A change of an audience shows in its diff, to be read before it is accepted.
"""

from __future__ import annotations

import csv
import io
from pathlib import Path

from tests.access.actors import ACTORS
from tests.access.expected import expected
from tests.access.routes import all_routes

FILE = Path(__file__).with_name("matrix.csv")


def matrix_text() -> str:
    """One row for each address and method; one column for each actor. In an address of a
    group, a cell holds what happens in the own group and, after a slash, in the other one."""
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerow(["address", "method", *(actor.name for actor in ACTORS)])
    for route in all_routes():
        if route.access is None:
            continue
        places = ("own", "other") if "group" in route.parameters else (None,)
        for method in sorted(route.access.methods):
            cells = [
                " / ".join(
                    dict.fromkeys(
                        expected(route.access, method, actor, where, is_api=route.is_api)
                        for where in places
                    )
                )
                for actor in ACTORS
            ]
            table.writerow(["/" + route.pattern, method, *cells])
    return out.getvalue()
