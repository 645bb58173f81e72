"""Who falls under the minimum, by hand from the small plan."""

from __future__ import annotations

from typing import Any

from apps.planning.core.hunger import TOO_LITTLE, UNSURE, hungry_homes
from apps.planning.core.plan_text import plan_text
from tests.planning.small_plan import small_document


def unsure_document(**figures: Any) -> dict[str, Any]:
    """The small plan with figures of batch M1 changed."""
    document = small_document()
    next(row for row in document["batches"] if row["code"] == "M1").update(figures)
    return document


def test_nobody_is_hungry_while_all_is_sure() -> None:
    """North lane: 700 g of stock, 4,500 + 500 + 2,000 g brought, at 150 g VS a kg: 1,155 of 900
    g. South lane: 900 g and nine tenths of 1,200 g: 297 of 400 g, whatever is sure."""
    (south,) = hungry_homes(small_document())
    assert (south.digester, south.expected_vs_g, south.sure_vs_g) == ("SOUTH-9", 297, 297)
    assert not south.is_unsure_only
    assert south.say().template == TOO_LITTLE


def test_a_home_may_be_hungry_only_because_supply_is_unsure() -> None:
    """Two fifths of M1 surely come: of its 675 g VS 270 g, so 750 g of 1,155 g."""
    document = unsure_document(low_g=2_000)
    north, south = hungry_homes(document)
    assert (north.expected_vs_g, north.sure_vs_g, north.least_vs_g) == (1_155, 750, 900)
    assert north.is_unsure_only
    assert north.say().template == UNSURE
    assert [each.digester for each in hungry_homes(document, {"SOUTH-9"})] == [south.digester]
    assert "but only 0.75 kg of them surely" in " ".join(plan_text(document).split())


def test_a_document_older_than_these_figures_is_read() -> None:
    document = small_document()
    for row in document["batches"]:
        del row["low_g"], row["high_g"]
    assert [each.digester for each in hungry_homes(document)] == ["SOUTH-9"]
