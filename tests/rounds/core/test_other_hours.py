"""Places that are open in the morning and again later."""

from dataclasses import replace

from apps.rounds.core.engine import Effort
from apps.rounds.core.export import export
from apps.rounds.core.other_hours import solve_with_hours
from apps.rounds.core.problem import Side, Window
from apps.rounds.core.solve import solve
from apps.rounds.verifier import verify
from tests.rounds.small import errand, street

QUICK = Effort(iterations=60)


def late_home(rounds, code, window):
    """The home of that errand receives within `window`."""
    return replace(
        rounds,
        errands=tuple(
            replace(each, bring=replace(each.bring, window=window)) if each.code == code else each
            for each in rounds.errands
        ),
    )


def test_who_would_wait_for_the_afternoon_comes_in_the_morning():
    morning = Window(0, 1_000)
    plain = street(errand("a", 2, 5), errand("b", 3, 4, fetch_in=morning))
    waits = late_home(plain, "a", Window(6_000, 8_000))
    answer = solve_with_hours(waits, {("a", Side.BRING): [morning]}, QUICK)
    assert verify(export(answer)) == []
    assert answer.rounds.errand["a"].bring.window == morning
    assert answer.cost == solve(plain, QUICK).cost == 1_000
    assert solve(waits, QUICK).cost > 5_000


def test_what_would_be_left_out_is_brought_at_the_other_hours():
    plain = street(errand("a", 2, 5), errand("b", 3, 4))
    never = late_home(plain, "a", Window(0, 1))
    assert [each.errand for each in solve(never, QUICK).left] == ["a"]
    answer = solve_with_hours(never, {("a", Side.BRING): [Window(5_000, 6_000)]}, QUICK)
    assert answer.left == ()
    assert verify(export(answer)) == []


def test_hours_that_do_not_help_change_nothing():
    plain = street(errand("a", 2, 5), errand("b", 3, 4))
    others = {("b", Side.FETCH): [Window(9_000, 9_500)]}
    assert solve_with_hours(plain, others, QUICK) == solve(plain, QUICK)
