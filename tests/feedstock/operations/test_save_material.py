"""A group's own measured materials, and the published ones it starts with."""

from __future__ import annotations

from decimal import Decimal

import pytest

from apps.feedstock.core.published import read_published
from apps.feedstock.models import Evidence, Figure, Material
from apps.feedstock.operations.adopt_published_materials import adopt_published_materials
from apps.feedstock.operations.save_material import Given, UnbelievableMaterial, save_material
from apps.feedstock.queries.known_materials import known_materials
from tests.cast import Cast


def figures(**values: str) -> dict[str, Given]:
    return {name: Given(Decimal(value), "Dried on the stove") for name, value in values.items()}


def test_a_new_group_has_every_published_figure_with_source_and_evidence(cast: Cast) -> None:
    published = read_published()
    known = known_materials(cast.group)
    assert known.keys() == published.keys()
    for code, material in published.items():
        assert known[code].figures == material.figures
        assert (known[code].holding, known[code].buffers) == (material.holding, material.buffers)
    assert adopt_published_materials(cast.group) == 0


def test_a_measured_material_says_who_measured_it(cast: Cast) -> None:
    save_material(
        cast.group,
        code="pea-pods",
        name="Pea pods",
        figures=figures(ts_pct_wet="14.2", vs_pct_ts="91"),
    )
    figure = Figure.objects.of(cast.group).get(material__code="pea-pods", quantity="ts_pct_wet")
    assert (figure.value, figure.evidence) == (Decimal("14.2"), Evidence.MEASURED)
    assert figure.source == "Dried on the stove"
    assert figure.unit == "% of fresh mass"


def test_a_pair_that_implies_too_much_carbon_is_refused(cast: Cast) -> None:
    """C:N 40 with 2 % nitrogen would be 80 % carbon of the dry mass; 60 % is the most."""
    with pytest.raises(UnbelievableMaterial, match="80 % carbon"):
        save_material(
            cast.group,
            code="odd",
            name="Odd",
            figures=figures(cn_ratio="40", n_pct_dm="2"),
        )
    assert not Material.objects.of(cast.group).filter(code="odd").exists()


def test_published_materials_stay_as_published(cast: Cast) -> None:
    with pytest.raises(UnbelievableMaterial, match="stays as published"):
        save_material(cast.group, code="bread", name="Bread", figures=figures(ts_pct_wet="60"))


@pytest.mark.parametrize(
    ("given", "word"),
    [({"ts_pct_wet": "101"}, "at most 100"), ({"sweetness": "3"}, "not a figure")],
)
def test_figures_beyond_belief_are_refused(cast: Cast, given: dict[str, str], word: str) -> None:
    with pytest.raises(UnbelievableMaterial, match=word):
        save_material(cast.group, code="odd", name="Odd", figures=figures(**given))


def test_changing_replaces_the_figures(cast: Cast) -> None:
    save_material(cast.group, code="odd", name="Odd", figures=figures(ts_pct_wet="20"))
    save_material(cast.group, code="odd", name="Odd", figures={}, share_groups=["slow"])
    assert not Figure.objects.of(cast.group).filter(material__code="odd").exists()
    assert "unknown_solids" in known_materials(cast.group)["odd"].groups
