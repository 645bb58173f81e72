"""Times, loads and breaches of a given order, on a street that one can check by hand."""

from apps.rounds.core.problem import Break, Side, Tour, Visit, Window
from apps.rounds.core.schedule import Rule, timing
from tests.rounds.small import carrier, errand, street


def tour(*steps: str) -> Tour:
    """ "a" fetches a, "A" brings it."""
    return Tour(
        "anna",
        tuple(Visit(s.lower(), Side.FETCH if s.islower() else Side.BRING) for s in steps),
    )


def test_times_ways_and_what_is_pushed():
    rounds = street(errand("a", 2, 5, 3_000), errand("b", 3, 4, 2_000))
    timed = timing(rounds, tour("a", "b", "B", "A"))
    assert [moment.begin_s for moment in timed.moments] == [200, 300, 400, 500]
    assert [moment.load_g for moment in timed.moments] == [3_000, 5_000, 3_000, 0]
    assert (timed.depart_s, timed.back_s, timed.metres) == (0, 1_000, 1_000)
    # 100 m with 3 kg, 100 m with 5 kg, 100 m with 3 kg.
    assert timed.gram_metres == 100 * (3_000 + 5_000 + 3_000)
    assert timed.breaches == ()


def test_nobody_sets_out_sooner_than_needed():
    rounds = street(errand("a", 2, 5, fetch_in=Window(1_000, 2_000)))
    timed = timing(rounds, tour("a", "A"))
    assert (timed.depart_s, timed.moments[0].arrive_s, timed.back_s) == (800, 1_000, 1_800)


def test_setting_out_late_never_makes_anything_late():
    rounds = street(
        errand("a", 1, 5, fetch_in=Window(0, 300)),
        errand("b", 6, 7, fetch_in=Window(2_000, 2_100)),
    )
    timed = timing(rounds, tour("a", "A", "b", "B"))
    assert timed.breaches == ()
    assert timed.moments[0].begin_s == 300
    assert timed.back_s == 2_800


def test_each_limit_is_told_with_its_figure():
    rounds = street(
        errand("a", 5, 6, 6_000, fetch_in=Window(0, 440)),
        errand("b", 2, 3, 5_000),
        carriers=(carrier(shift=Window(0, 1_150), avoids=frozenset({3})),),
    )
    timed = timing(rounds, tour("a", "b", "A", "B"))
    found = {(each.rule, each.by, each.at) for each in timed.breaches}
    assert found == {
        (Rule.LATE, 60, 0),
        (Rule.LOAD, 1_000, 1),
        (Rule.AVOID, 0, 3),
        (Rule.SHIFT, 5 * 100 + 300 + 400 + 300 + 300 - 1_150, None),
    }


def test_bringing_before_fetching_and_half_errands_are_told():
    rounds = street(errand("a", 1, 2), errand("b", 3, 4))
    assert Rule.ORDER in {each.rule for each in timing(rounds, tour("A", "a")).breaches}
    assert Rule.ORDER in {each.rule for each in timing(rounds, tour("a")).breaches}
    assert Rule.ORDER in {each.rule for each in timing(rounds, tour("a", "a", "A")).breaches}


def test_a_break_is_taken_where_it_delays_least():
    # The carrier waits at b anyway: there the rest costs nothing.
    rest = Break(Window(100, 900), 300)
    rounds = street(
        errand("a", 1, 2),
        errand("b", 3, 4, fetch_in=Window(1_000, 1_000)),
        carriers=(carrier(breaks=(rest,)),),
    )
    timed = timing(rounds, tour("a", "A", "b", "B"))
    assert timed.breaches == ()
    assert timed.back_s == 1_500
    assert [(each.before, each.length_s) for each in timed.rests] == [(2, 300)]


def test_a_break_that_comes_too_late_is_told():
    rest = Break(Window(0, 50), 300)
    rounds = street(errand("a", 1, 2), carriers=(carrier(breaks=(rest,)),))
    assert [(each.rule, each.by) for each in timing(rounds, tour("a", "A")).breaches] == [
        (Rule.BREAK, 50)
    ]


def test_what_is_on_the_cart_already_counts_from_the_start():
    rounds = street(errand("a", 1, 2, 4_000), carriers=(carrier(),))
    kept = rounds.errands[0]
    on_cart = street(type(kept)("a", 4_000, None, kept.bring, carrier="anna"))
    timed = timing(on_cart, tour("A"))
    assert timed.gram_metres == 200 * 4_000
    assert timed.breaches == ()
