"""The coordinator's board: a constant number of queries, warnings first."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from apps.digesters.models import ReadingKind
from apps.digesters.operations.record_reading import record_reading
from apps.planning.queries.digester_board import digester_board
from tests.cast import Cast
from tests.digesters.queries.test_day_limits import add_digesters
from tests.planning.first_plans import first_announced


@pytest.mark.one_database
def test_a_thousand_digesters_cost_as_many_queries_as_ten(cast: Cast) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as captured:
            digester_board(cast.group, cast.today)
        return len(captured)

    add_digesters(cast, 7, "few")
    few = queries()
    add_digesters(cast, 990, "many")
    assert queries() == few


def test_what_stops_a_digester_comes_first(cast: Cast) -> None:
    record_reading(
        cast.dome, kind=ReadingKind.PH, value=600, taken_at=cast.now, now=cast.now, client_key="a"
    )
    first = digester_board(cast.group, cast.today)[0]
    assert first.digester == cast.dome
    assert first.is_stopped
    assert (first.headroom_g, first.spare_g) == (0, 0)
    assert "pH strip" in " ".join(str(warning.sentence) for warning in first.warnings)


def test_what_is_promised_is_taken_off_the_spare_capacity(cast: Cast) -> None:
    plan = first_announced()
    rows = {row.digester.code: row for row in digester_board(cast.group, plan.starts_on)}
    dome = rows["elsa-dome"]
    assert 0 <= dome.spare_g < dome.headroom_g
    assert dome.binding.sentence
    assert dome.planned_today is not None
