"""What the sheets of past facts have in common: facts are added, never changed by a file."""

from __future__ import annotations

import uuid
from datetime import date

from apps.kernel.quantities import in_thousands
from apps.kernel.words import gettext_noop
from apps.reports.exchange.problem import BadCell
from apps.reports.exchange.sheet import Row


def client_key() -> str:
    """A key of its own for every imported posting: what is there already is told by comparing
    sums of days, so that a fact that was taken back can be imported again."""
    return f"import-{uuid.uuid4()}"


def not_after_today(row: Row, today: date) -> None:
    """Refuse days that have not come."""
    if row.values["on"] > today:
        raise BadCell(
            gettext_noop("%(on)s has not come yet; today is %(today)s. Give past days only."),
            field="on",
            figures={"on": row.values["on"], "today": today},
        )


def refuse_change(column: str, recorded: int, unit: str, on: date) -> None:
    """Say what is recorded already and where it can be corrected."""
    raise BadCell(
        gettext_noop(
            "%(recorded)s %(unit)s is recorded for %(on)s already, and a file cannot change that. "
            "Correct it on the digester's page, or give the recorded amount."
        ),
        field=column,
        figures={"recorded": in_thousands(recorded), "unit": unit, "on": on},
    )
