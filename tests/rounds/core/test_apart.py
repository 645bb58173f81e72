"""One answer for several carriers, taken apart: each part sound by itself."""

from dataclasses import replace

from apps.rounds.core.apart import apart
from apps.rounds.core.engine import Effort
from apps.rounds.core.export import export
from apps.rounds.core.problem import Break, Ways, Window
from apps.rounds.core.solve import solve
from apps.rounds.verifier import verify
from tests.rounds.neighbourhood import neighbourhood
from tests.rounds.small import carrier, errand, street

QUICK = Effort(iterations=60)


def test_carriers_of_different_carts_and_speeds_are_each_sound_alone():
    one = neighbourhood(3)
    quick = Ways(
        one.ways[0].metres, tuple(tuple(-(-s // 3) for s in row) for row in one.ways[0].seconds)
    )
    [walker] = one.carriers
    rider = replace(walker, code="ben", ways=1, load_limit_g=25_000)
    both = replace(one, carriers=(walker, rider), ways=(one.ways[0], quick))
    answer = solve(both, QUICK)
    parts = apart(answer)
    assert set(parts) == {"anna", "ben"}
    assert [verify(export(each)) for each in parts.values()] == [[], []]
    done = [code for each in parts.values() for tour in each.tours for code in _codes(tour)]
    assert sorted(done) == sorted({each.code for each in one.errands})
    # Who is three times as quick is sent out; both together are not slower than the walker alone.
    assert parts["ben"].tours
    assert answer.cost <= solve(one, QUICK).cost


def test_nobody_sets_out_in_order_to_rest():
    late, rest = Window(5_000, 6_000), Break(Window(1_000, 2_000), 600)
    one = street(errand("a", 2, 5, fetch_in=late), carriers=(carrier(breaks=(rest,)),))
    [timed] = apart(solve(one, QUICK))["anna"].tours
    assert (timed.depart_s, timed.rests) == (4_800, ())
    amid = Break(Window(5_100, 5_200), 600)
    two = street(errand("a", 2, 5, fetch_in=late), carriers=(carrier(breaks=(amid,)),))
    [timed] = apart(solve(two, QUICK))["anna"].tours
    assert len(timed.rests) == 1


def test_what_nobody_does_is_explained_to_each_by_what_keeps_that_one():
    small, far = carrier("anna", load_limit_g=2_000), carrier("ben", avoids=frozenset({4}))
    parts = apart(solve(street(errand("a", 3, 4, 5_000), carriers=(small, far)), QUICK))
    assert [(each.errand, each.why.value) for each in parts["anna"].left] == [("a", "load")]
    assert [(each.errand, each.why.value) for each in parts["ben"].left] == [("a", "avoid")]
    assert [verify(export(each)) for each in parts.values()] == [[], []]


def _codes(tour):
    return {moment.visit.errand for moment in tour.moments}
