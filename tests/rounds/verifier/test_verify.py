"""The verifier notices every kind of mistake in an answer that was sound."""

import copy

import pytest

from apps.rounds.core.engine import Effort
from apps.rounds.core.export import export
from apps.rounds.core.problem import Break, Window
from apps.rounds.core.solve import solve
from apps.rounds.verifier import verify
from tests.rounds.small import carrier, errand, street


@pytest.fixture(scope="module")
def sound():
    rest = Break(Window(500, 700), 200)
    rounds = street(
        errand("a", 2, 5, 3_000, fetch_in=Window(0, 400)),
        errand("b", 3, 4, 2_000),
        errand("c", 9, 8, 1_000, fetch_in=Window(0, 300)),
        carriers=(carrier(breaks=(rest,)),),
    )
    document = export(solve(rounds, Effort(iterations=60)))
    assert verify(document) == []
    assert [left["errand"] for left in document["left"]] == ["c"]
    return document


def visit(document, number):
    return document["tours"][0]["visits"][number]


def turn_round(document):
    document["tours"][0]["visits"].reverse()


MISTAKES = {
    "forgotten": lambda d: d["left"].clear(),
    "twice": lambda d: d["left"].append({**d["left"][0], "errand": "a"}),
    "unknown": lambda d: d["left"].append({**d["left"][0], "errand": "z"}),
    "time": lambda d: visit(d, 1).update(arrive_s=visit(d, 1)["arrive_s"] - 50),
    "window": lambda d: d["errands"][0]["fetch"].update(till_s=1),
    "load": lambda d: d["carriers"][0].update(load_limit_g=2_500),
    "avoid": lambda d: d["carriers"][0].update(avoids=[4]),
    "bound": lambda d: d["errands"][1].update(carrier="ben"),
    "order": turn_round,
    "half_done": lambda d: d["tours"][0]["visits"].pop(),
    "break": lambda d: d["tours"][0]["rests"].clear(),
    "shift": lambda d: d["carriers"][0].update(till_s=900),
    "claim": lambda d: d["tours"][0].update(metres=1),
    "reason": lambda d: d["left"][0].update(by=d["left"][0]["by"] - 1),
    "document": lambda d: d.pop("errands"),
}


@pytest.mark.parametrize("rule", MISTAKES)
def test_each_mistake_is_noticed(sound, rule):
    document = copy.deepcopy(sound)
    MISTAKES[rule](document)
    assert rule in {fault.rule for fault in verify(document)}


def test_a_reason_is_false_when_the_errand_fits_somewhere(sound):
    document = copy.deepcopy(sound)
    document["errands"][2]["fetch"]["till_s"] = 10_000
    assert [fault.rule for fault in verify(document)] == ["reason"]


def test_a_file_of_something_else_is_refused():
    assert [fault.rule for fault in verify({"schema": "x", "schema_version": 1})] == ["document"]
    assert [fault.rule for fault in verify([])] == ["document"]
