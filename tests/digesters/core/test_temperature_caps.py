"""The loading cap and the retention floor over temperature."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.digesters.core.rules import change_rule, read_rules
from apps.digesters.core.temperature_caps import OLR_POINTS, hrt_floor, olr_cap
from apps.kernel.figures import FigureError

RULES = read_rules()
TEMPERATURES = st.floats(-10, 60)


@pytest.mark.parametrize(
    ("slurry_c", "cap"),
    [
        # The points: assumed interpolation table; 0.12 at 10 °C from Safley & Westerman 1994.
        (35, 1.5), (28, 1.5), (25, 1.0), (20, 0.6), (16, 0.25), (10, 0.12),
        # Between them: straight lines.
        (26.5, 1.25), (22.5, 0.8), (18, 0.425), (13, 0.185),
        # Below the coldest published loading nothing is fed.
        (9.9, 0.0), (0, 0.0),
    ],
)  # fmt: skip
def test_olr_table(slurry_c: float, cap: float) -> None:
    assert olr_cap(RULES, slurry_c)[0] == pytest.approx(cap)


@pytest.mark.parametrize(
    ("slurry_c", "days"),
    [(30, 40), (25, 40), (22.5, 50), (20, 60), (17.5, 80), (15, 100), (5, 100)],
)
def test_hrt_table(slurry_c: float, days: float) -> None:
    """40 d and 60 d: Biogas Digest Vol. II p. 39-40; 100 d at 15 °C: Zeeman 1991 as quoted."""
    assert hrt_floor(RULES, slurry_c)[0] == pytest.approx(days)


def test_each_point_names_its_own_rule() -> None:
    for celsius, rule_id in OLR_POINTS:
        assert olr_cap(RULES, celsius)[1].id == rule_id
    assert olr_cap(RULES, 5)[1].id == "coldest_fed_slurry"


@given(TEMPERATURES, TEMPERATURES)
def test_colder_never_allows_more(one: float, other: float) -> None:
    colder, warmer = sorted((one, other))
    assert olr_cap(RULES, colder)[0] <= olr_cap(RULES, warmer)[0] <= 2
    assert hrt_floor(RULES, colder)[0] >= hrt_floor(RULES, warmer)[0]


@given(TEMPERATURES, st.sampled_from([rule_id for _, rule_id in OLR_POINTS]), st.floats(0, 1))
def test_a_tightened_point_never_raises(slurry_c: float, rule_id: str, share: float) -> None:
    tightened = change_rule(RULES, rule_id, RULES.value(rule_id) * share, asked_by="Ana")
    assert olr_cap(tightened, slurry_c)[0] <= olr_cap(RULES, slurry_c)[0]


def test_a_tightened_warm_point_holds_the_colder_ones_too() -> None:
    tightened = change_rule(RULES, "olr_cap_25c", 0.3, asked_by="Ana")
    assert olr_cap(tightened, 20)[0] == 0.3
    longer = change_rule(RULES, "hrt_floor_25c", 70, asked_by="Ana")
    assert hrt_floor(longer, 20)[0] == 70


def test_nonsense_is_refused() -> None:
    with pytest.raises(FigureError, match="not a finite"):
        olr_cap(RULES, float("nan"))
