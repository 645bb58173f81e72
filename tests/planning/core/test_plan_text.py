"""A plan in a terminal: amounts as people weigh, wishes as sentences."""

from __future__ import annotations

import pytest

from apps.planning.core.plan_text import _kg, plan_text
from apps.planning.core.wish_words import wish_sentence
from tests.planning.small_plan import small_document


@pytest.mark.parametrize(
    ("amount_g", "shown"),
    [(8_412, "8.4"), (8_450, "8.5"), (1_000, "1"), (55, "0.06"), (994, "0.99"), (4, "0.004"),
     (0, "0")],
)  # fmt: skip
def test_amounts_are_rounded_as_far_as_people_weigh(amount_g: int, shown: str) -> None:
    assert _kg(amount_g) == shown


def test_wishes_are_sentences_in_units_people_know() -> None:
    document = small_document()
    document["wishes"] = [
        {"name": "below_minimum_vs_g", "value": 1_250, "bound": 0},
        {"name": "sources_overdue", "value": 2, "bound": 1},
    ]
    text = " ".join(plan_text(document).split())
    assert "1. Digesters miss 1.25 kg of volatile solids to their seven-day minimum" in text
    assert "2. 2 sources wait longer than they should; in every plan at least 1 do." in text
    assert "below_minimum" not in text
    assert "sources_overdue" not in text


def test_a_whole_hundred_keeps_its_zeros() -> None:
    said = str(wish_sentence("left_over_g", 106_000, 100_000))
    assert "no plan as good otherwise could place more than 6 kg beyond this one" in said
    assert "fewer than 64." in str(wish_sentence("unsteady_trips", 118, 63.234))
    assert "100 kg are left over" in str(wish_sentence("left_over_g", 100_000, 0))
