"""The table of limits and who may change it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.digesters.core.rules import LimitRules, change_rule, parse_rules, read_rules
from apps.kernel.figures import FigureError

RULES = read_rules()
HEADER = "id,value,unit,tighter,loosest,validity,meaning,source,evidence\n"


def test_every_rule_has_source_validity_and_evidence() -> None:
    for rule in RULES.rules.values():
        assert rule.source
        assert rule.validity
        assert rule.meaning
        assert rule.unit


def test_rules_of_our_own_say_that_they_are_assumed() -> None:
    for rule in RULES.rules.values():
        if rule.source.startswith("Chosen by us"):
            assert rule.is_assumed, rule.id


def test_rule_of_thumb_is_marked() -> None:
    """12-15 days without waste after seeding: common practice, no source."""
    rest = RULES["seed_rest"]
    assert (rest.value, rest.evidence) == (15, "practice")
    assert "no source" in rest.source


def test_published_retention_floor() -> None:
    """Biogas Digest Vol. II p. 39-40: RT at least 40 d, 60-80 d common."""
    assert (RULES.value("hrt_floor_25c"), RULES["hrt_floor_25c"].evidence) == (40, "read")
    assert 60 <= RULES.value("hrt_floor_20c") <= 80


def test_one_person_tightens_two_loosen() -> None:
    tighter = change_rule(RULES, "olr_cap_25c", 0.8, asked_by="Ana")
    assert tighter.value("olr_cap_25c") == 0.8
    with pytest.raises(FigureError, match="second person"):
        change_rule(tighter, "olr_cap_25c", 0.9, asked_by="Ana")
    with pytest.raises(FigureError, match="second person"):
        change_rule(tighter, "olr_cap_25c", 0.9, asked_by="Ana", confirmed_by="Ana")
    again = change_rule(tighter, "olr_cap_25c", 0.9, asked_by="Ana", confirmed_by="Bo")
    assert again.value("olr_cap_25c") == 0.9
    with pytest.raises(FigureError, match="second person"):
        change_rule(RULES, "hrt_floor_25c", 35, asked_by="Ana")


def test_nobody_goes_beyond_the_loosest() -> None:
    with pytest.raises(FigureError, match="nobody may go beyond 2"):
        change_rule(RULES, "olr_cap_28c", 2.5, asked_by="Ana", confirmed_by="Bo")


@given(st.sampled_from(sorted(RULES.rules)), st.sampled_from([float("nan"), float("inf"), -1.0]))
def test_no_rule_becomes_nonsense(rule_id: str, value: float) -> None:
    with pytest.raises(FigureError):
        change_rule(RULES, rule_id, value, asked_by="Ana", confirmed_by="Bo")


def test_a_switch_needs_its_local_rule_named() -> None:
    with pytest.raises(FigureError, match="local rule that allows cooked"):
        LimitRules(RULES.rules, {"cooked": " "})


@pytest.mark.parametrize(
    ("row", "message"),
    [
        ("a,x,kg,lower,2,v,m,s,read\n", "must be numbers"),
        ("a,nan,kg,lower,2,v,m,s,read\n", "not a finite number"),
        ("a,3,kg,lower,2,v,m,s,read\n", "nobody may go beyond"),
        ("a,1,kg,down,2,v,m,s,read\n", "use lower or higher"),
        ("a,1,kg,lower,2,v,m,,read\n", "no source"),
        ("a,1,kg,lower,2,v,m,s,sure\n", "unknown"),
        ("a,1,kg,lower,2,v,m,s,read\n" * 2, "listed twice"),
    ],
)
def test_bad_rows_are_refused(row: str, message: str) -> None:
    with pytest.raises(FigureError, match=message):
        parse_rules(HEADER + row)
