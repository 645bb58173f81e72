"""An Idempotency-Key has at most one effect, and repeats its first answer for ever."""

from __future__ import annotations

from threading import Thread
from typing import Any
from unittest import mock

import pytest
from django.db import connections
from django.utils import timezone

from apps.api.models import IdempotencyKey
from apps.api.once import GIVEN_UP_AFTER, Answer, KeyBusy, answer_once_slowly
from apps.digesters.models import Reading
from apps.people.access import Admission
from tests.api.caller import Caller
from tests.cast import Cast, make_cast

READINGS = "/digesters/duarte-drum/readings"
BODY = {"kind": "ph_hundredths", "value": 710, "taken_at": "2026-05-11T07:30:00Z"}


@pytest.mark.django_db
def test_a_repeat_changes_nothing_and_answers_the_same(cast: Cast) -> None:
    caller = Caller(cast.duarte)
    first = caller.post(READINGS, BODY, key="one")
    assert first.status_code == 201
    # The same content in another order and spacing is the same request.
    again = caller.post(READINGS, str(dict(reversed(BODY.items()))).replace("'", '"'), key="one")
    assert (again.status_code, again.data) == (201, first.data)
    assert again["Idempotency-Replayed"] == "true"
    assert Reading.unscoped.count() == 1


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("address", "body"),
    [
        (READINGS, {**BODY, "value": 690}),
        ("/digesters/duarte-drum/feedings", {"happened_at": BODY["taken_at"], "water_ml": 1000}),
    ],
)
def test_a_key_is_not_spent_twice(cast: Cast, address: str, body: dict[str, Any]) -> None:
    caller = Caller(cast.duarte)
    caller.post(READINGS, BODY, key="one")
    refused = caller.post(address, body, key="one")
    assert refused.status_code == 409
    assert refused.data["code"] == "key_spent"
    assert Reading.unscoped.count() == 1


@pytest.mark.django_db
def test_two_people_may_make_up_the_same_key(cast: Cast) -> None:
    assert Caller(cast.duarte).post(READINGS, BODY, key="1").status_code == 201
    assert Caller(cast.carla).post(READINGS, BODY, key="1").status_code == 201
    assert Reading.unscoped.count() == 2


@pytest.mark.django_db
@pytest.mark.parametrize("key", ["", "x" * 256, "k\u00e9y".encode().decode("latin-1")])
def test_a_key_is_needed_and_has_255_plain_characters_at_most(cast: Cast, key: str) -> None:
    refused = Caller(cast.duarte).post(READINGS, BODY, key=key)
    assert (refused.status_code, refused.data["code"]) == (400, "key_needed")


@pytest.mark.django_db
def test_what_was_refused_leaves_the_key_free(cast: Cast) -> None:
    caller = Caller(cast.duarte)
    assert caller.post(READINGS, {**BODY, "value": 1401}, key="one").status_code == 422
    assert caller.post(READINGS, BODY, key="one").status_code == 201


@pytest.mark.django_db
def test_a_fault_of_ours_is_not_remembered_and_leaves_nothing(cast: Cast) -> None:
    caller = Caller(cast.duarte)
    with mock.patch("apps.digesters.operations.record_reading.record_fact", side_effect=KeyError):
        assert caller.post(READINGS, BODY, key="one").status_code == 500
    assert Reading.unscoped.count() == IdempotencyKey.unscoped.count() == 0
    assert caller.post(READINGS, BODY, key="one").status_code == 201


@pytest.mark.django_db(transaction=True)
def test_of_many_at_once_one_has_an_effect() -> None:
    caller = Caller(make_cast().duarte)
    answers: list[Any] = []

    def send() -> None:
        answer = caller.post(READINGS, BODY, key="one")
        # A database in memory locks whole tables: like a script, ask again when it is busy.
        while answer.status_code == 503:
            answer = caller.post(READINGS, BODY, key="one")
        answers.append(answer)
        connections.close_all()

    threads = [Thread(target=send) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [answer.status_code for answer in answers] == [201] * 6
    assert len({answer.data["uuid"] for answer in answers}) == 1
    assert sum("Idempotency-Replayed" in answer.headers for answer in answers) == 5
    assert Reading.unscoped.count() == 1


@pytest.mark.django_db
def test_a_slow_request_is_claimed_before_it_is_done(cast: Cast) -> None:
    admission = Admission(cast.bruno.user, cast.group, cast.bruno)
    now = timezone.now()

    def send(when: Any = now) -> Answer:
        return answer_once_slowly(admission, "k", "POST /plans", "hash", act, now=when)

    def again() -> Answer:
        with pytest.raises(KeyBusy):
            answer_once_slowly(admission, "k", "POST /plans", "hash", act, now=now)
        return Answer(201, {"version": 1})

    act = again
    assert send().data == {"version": 1}
    assert send().repeated
    # A claim whose process died is taken over once its time is over.
    IdempotencyKey.unscoped.update(status=None)
    with pytest.raises(KeyBusy):
        send()
    act = lambda: Answer(201, {"version": 2})  # noqa: E731
    assert send(now + GIVEN_UP_AFTER * 2).data == {"version": 2}


@pytest.mark.django_db
def test_a_slow_request_that_fails_frees_its_key(cast: Cast) -> None:
    admission = Admission(cast.bruno.user, cast.group, cast.bruno)

    def fail() -> Answer:
        raise RuntimeError

    with pytest.raises(RuntimeError):
        answer_once_slowly(admission, "k", "a", "h", fail, now=timezone.now())
    assert not IdempotencyKey.unscoped.exists()
