"""Outflow that left a digester."""

import pytest

from apps.digestate.core.dilution import Use
from apps.digestate.operations.let_out import let_out
from apps.ledger.models import LiquidKind
from apps.ledger.queries.grams_per_day import liquids_per_day

pytestmark = pytest.mark.django_db


def test_outflow_is_written_once_with_its_use_and_water(cast):
    for _time in range(2):
        done = let_out(
            cast.drum,
            amount_ml=10_000,
            use=Use.TREES,
            happened_at=cast.now,
            now=cast.now,
            client_key="o",
            recorded_by=cast.duarte,
        )
    assert done.posted.is_repeat
    assert done.dilution.water_ml == 30_000
    assert done.posted.posting.note == "use: trees"
    day = (cast.drum.account_id, cast.today)
    out = liquids_per_day(cast.group, LiquidKind.OUTFLOW, [day[0]], cast.today, cast.today)
    assert out[day] == 10_000
