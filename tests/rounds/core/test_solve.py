"""Answers: sound by the independent verifier, the same every time, and explained."""

from dataclasses import replace

import pytest

from apps.rounds.core.answer import Why
from apps.rounds.core.engine import Effort, search
from apps.rounds.core.export import export
from apps.rounds.core.fewest import asks_for_fewest, fewest_carriers
from apps.rounds.core.problem import Break, Rounds, Side, Window
from apps.rounds.core.rest import rest_of
from apps.rounds.core.sentences import say_left
from apps.rounds.core.solve import solve
from apps.rounds.verifier import verify
from tests.rounds.instances import ROUND_OFF, best_known, best_tours, read_instance, stated
from tests.rounds.neighbourhood import neighbourhood
from tests.rounds.small import carrier, errand, street

QUICK = Effort(iterations=60)


def solved(rounds: Rounds):
    """An answer in which the verifier finds nothing."""
    answer = solve(rounds, QUICK)
    assert verify(export(answer)) == []
    return answer


def test_the_shortest_round_of_a_street():
    answer = solved(street(errand("a", 2, 5), errand("b", 3, 4), errand("c", 6, 9)))
    assert answer.is_complete
    assert [tour.metres for tour in answer.tours] == [1_800]


def test_the_load_limit_holds_over_the_tour_not_in_total():
    rounds = street(errand("a", 1, 2, 8_000), errand("b", 3, 4, 8_000), errand("c", 5, 6, 8_000))
    answer = solved(rounds)
    assert answer.is_complete
    assert max(moment.load_g for moment in answer.tours[0].moments) == 8_000


def test_two_carriers_with_their_own_starts_and_places_they_avoid():
    near = carrier("anna", avoids=frozenset({8}))
    far = carrier("ben", start=9, end=9, avoids=frozenset({1}))
    answer = solved(street(errand("a", 1, 2), errand("b", 8, 7), carriers=(near, far)))
    assert {tour.carrier: tour.moments[0].visit.errand for tour in answer.tours} == {
        "anna": "a",
        "ben": "b",
    }


def test_an_errand_bound_to_a_carrier_goes_with_it():
    carriers = (carrier("anna"), carrier("ben", start=9, end=9))
    answer = solved(street(errand("a", 1, 2, carrier="ben"), carriers=carriers))
    assert [tour.carrier for tour in answer.tours] == ["ben"]


def test_a_break_is_kept_and_the_rest_goes_around_it():
    rest = Break(Window(300, 500), 400)
    rounds = street(
        errand("a", 2, 5, fetch_in=Window(0, 250)),
        errand("b", 6, 9, fetch_in=Window(600, 1_500)),
        carriers=(carrier(breaks=(rest,)),),
    )
    answer = solved(rounds)
    assert answer.is_complete
    assert 300 <= answer.tours[0].rests[0].begin_s <= 500


def test_left_out_because_the_stall_shuts():
    rounds = street(errand("a", 9, 8, fetch_in=Window(0, 180)))
    [left] = solved(rounds).left
    assert (left.why, left.by) == (Why.LATE, 720)
    places = {("a", Side.FETCH): "Stall A", ("a", Side.BRING): "Home"}
    assert str(say_left(left, "Anna", places, ())) == (
        "Left out: Anna would arrive 12 minutes after Stall A shuts."
    )


def test_left_out_because_somebody_else_would_wait_too_long():
    rounds = street(
        errand("a", 3, 4, fetch_in=Window(0, 300), bring_in=Window(0, 420)),
        errand("b", 8, 9, 10_000, fetch_in=Window(0, 800), bring_in=Window(0, 900)),
        errand("c", 7, 2, 10_000, fetch_in=Window(650, 700), bring_in=Window(0, 1_300)),
    )
    answer = solved(rounds)
    assert len(answer.left) == 1
    assert answer.left[0].why in (Why.LATE, Why.LOAD)
    assert not answer.is_complete


@pytest.mark.parametrize(
    ("changed", "why", "by"),
    [
        ({"load_limit_g": 900}, Why.LOAD, 100),
        ({"shift": Window(0, 900)}, Why.SHIFT, 100),
        ({"avoids": frozenset({2})}, Why.AVOID, 0),
    ],
)
def test_left_out_for_the_carriers_own_limits(changed, why, by):
    [left] = solved(street(errand("a", 2, 5), carriers=(carrier(**changed),))).left
    assert (left.why, left.by) == (why, by)


def test_an_optional_errand_is_done_only_when_it_is_worth_the_way():
    near, far = errand("a", 1, 2, value=500), errand("b", 8, 9, value=500)
    answer = solved(street(near, far))
    assert [tour.metres for tour in answer.tours] == [400]
    assert [(each.errand, each.why, each.by) for each in answer.left] == [("b", Why.NOT_WORTH, 900)]


def test_the_same_input_gives_the_same_answer():
    rounds = neighbourhood(5, 8, 6)
    shuffled = Rounds(rounds.errands[::-1], rounds.carriers, rounds.ways)
    assert solve(rounds, QUICK) == solve(shuffled, QUICK)


def test_generated_neighbourhoods_are_sound_with_two_carts_and_breaks():
    for seed in range(1, 5):
        rounds = neighbourhood(seed, 9, 6)
        [anna] = rounds.carriers
        nine = 9 * 3600
        anna = replace(
            anna,
            load_limit_g=25_000,
            shift=Window(8 * 3600, 11 * 3600),
            breaks=(Break(Window(nine, nine + 3600), 900),),
        )
        ben = replace(anna, code="ben", breaks=(), avoids=frozenset({1, 2, 3}))
        solved(replace(rounds, carriers=(anna, ben)))


def test_the_rest_of_a_round_keeps_what_is_done():
    rounds = neighbourhood(3, 6, 5)
    [tour] = solve(rounds, QUICK).tours
    done = tour.moments[:5]
    last = done[-1]
    place = rounds.errand[last.visit.errand].end(last.visit.side).place
    rest = rest_of(
        rounds, "anna", [m.visit for m in done], at_place=place, now_s=last.leave_s + 600
    )
    on_cart_g = sum(each.amount_g for each in rest.errands if each.fetch is None)
    assert on_cart_g == last.load_g
    again = solved(rest)
    visits = {moment.visit for moment in again.tours[0].moments}
    assert not visits & {moment.visit for moment in done}
    assert again.tours[0].depart_s >= last.leave_s + 600
    assert again.is_complete


def test_what_is_on_the_cart_is_brought_even_after_hours():
    rounds = neighbourhood(3, 6, 5)
    [tour] = solve(rounds, QUICK).tours
    first = tour.moments[0]
    place = rounds.errand[first.visit.errand].end(first.visit.side).place
    rest = rest_of(rounds, "anna", [first.visit], at_place=place, now_s=18 * 3600)
    answer = solve(rest, QUICK)
    assert [moment.visit.errand for moment in answer.tours[0].moments] == [first.visit.errand]
    assert len(answer.left) == 5


def test_published_best_routes_are_sound_and_as_long_as_published():
    """Li & Lim (2001), values and routes as SINTEF's TOP collection has them."""
    for name in ("lc101", "lr104", "lrc207"):
        document = stated(read_instance(name), best_tours(name))
        assert verify(document, tolerance=ROUND_OFF) == []
        vehicles, distance = best_known()[name]
        assert len(document["tours"]) == vehicles
        assert round(sum(tour["metres"] for tour in document["tours"]), 2) == distance


def test_an_easy_published_instance_is_solved_to_its_best_known_value():
    """Li & Lim's lc101: 10 vehicles, 828.94."""
    instance = read_instance("lc101")
    tours = search(instance.rounds, Effort(iterations=40))
    document = stated(instance, tours)
    assert verify(document, tolerance=ROUND_OFF) == []
    assert len(tours) == 10
    assert sum(tour["metres"] for tour in document["tours"]) == pytest.approx(828.94, abs=0.01)


def test_a_first_answer_is_taken_up():
    rounds = neighbourhood(2, 6, 5)
    first = search(rounds, QUICK)
    assert search(rounds, Effort(iterations=1), first) == first


def test_as_few_carriers_as_can_be():
    """Three errands end to end fit one tour, although two carriers would walk less."""
    carriers = tuple(
        carrier(code, start=4, end=4, going_out_cost=100_000) for code in ("a", "b", "c")
    )
    rounds = street(errand("x", 0, 1), errand("y", 8, 9), errand("z", 4, 5), carriers=carriers)
    assert asks_for_fewest(rounds)
    tours = fewest_carriers(rounds, Effort(iterations=300))
    assert len(tours) == 1
    assert len(tours[0].visits) == 6
    assert len(solved(rounds).tours) == 1


def test_fewer_carriers_than_the_search_alone_on_a_published_instance():
    """Li & Lim's lrc105, with next to no effort."""
    instance = read_instance("lrc105")
    alone = search(instance.rounds, Effort(iterations=5))
    tours = fewest_carriers(instance.rounds, Effort(iterations=5))
    assert verify(stated(instance, tours), tolerance=ROUND_OFF) == []
    assert len(tours) < len(alone)
