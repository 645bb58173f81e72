"""Recipes in the home's own measures: counted in the document, said on pages in any language."""

from __future__ import annotations

import pytest

from apps.feedstock.models import Measure
from apps.planning.operations.make_plan import make_plan
from apps.web.plan_pages import day_measures
from tests.cast import Cast


@pytest.fixture
def measured(cast: Cast) -> Cast:
    """With a pail of 4 L and a jug of 1.5 L."""
    Measure.unscoped.create(group=cast.group, code="pail", name="pail", volume_ml=4_000)
    Measure.unscoped.create(group=cast.group, code="jug", name="jug", volume_ml=1_500)
    return cast


def test_the_document_counts_half_measures(measured: Cast) -> None:
    plan = make_plan(measured.group, now=measured.now)
    rows = [row for row in plan.document["recipes"] if row["in_measures"]]
    assert rows
    for row in rows:
        for each in row["in_measures"]:
            assert each["halves"] > 0
            if each["of"] == "water":
                # To the nearest half jug, or one half less where the day's limit is near.
                poured_ml = each["halves"] * each["volume_ml"] / 2
                assert abs(poured_ml - row["water_ml"]) <= each["volume_ml"] * 3 / 4
    shown = day_measures(plan)
    assert shown.keys() == {row["digester"] for row in plan.document["recipes"]}
    assert {of for days in shown.values() for each in days.values() for of in each} == {
        "waste",
        "water",
    }


def test_a_group_without_containers_weighs(cast: Cast) -> None:
    plan = make_plan(cast.group, now=cast.now)
    assert plan.document["recipes"]
    assert not any(row["in_measures"] for row in plan.document["recipes"])
