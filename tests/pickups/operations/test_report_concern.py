"""A smell of gas, and what is less urgent."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.core import mail

from apps.digesters.models import Concern, ConcernKind
from apps.digesters.operations import raise_concern as raising
from apps.digesters.operations.close_concern import AnswerMissing, NotTested, close_concern
from apps.digesters.operations.raise_concern import TooManyConcerns
from apps.digesters.queries.day_limits import day_limits
from apps.digesters.queries.lighting import why_not_light
from apps.groups.models import Fact, Work
from apps.groups.operations.do_work import do_work
from apps.pickups.models import Pickup
from apps.pickups.operations.report_concern import report_concern
from apps.pickups.operations.sync_pickups import sync_pickups
from apps.pickups.queries.exceptions import Kind, todays_exceptions
from tests.cast import Cast, make_cast
from tests.pickups.plans import write_plan
from tests.remembered import remembered

pytestmark = pytest.mark.django_db


@pytest.fixture
@remembered
def cast() -> Cast:
    """With a pickup for Duarte tomorrow, announced this evening."""
    cast = make_cast(history_days=20)
    sync_pickups(write_plan(cast, [(cast.vegetables, cast.drum, 0, 3_000)]), now=cast.now)
    return cast


def smell(cast: Cast, key: str = "c", kind=ConcernKind.GAS_SMELL, **changes):
    later = cast.now + timedelta(minutes=5)
    return report_concern(cast.drum.place, kind, now=later, client_key=key, **changes)


def do_all(kind: str) -> None:
    for work in Work.unscoped.filter(kind=kind, done_at=None):
        assert do_work(work.pk)


def test_a_smell_of_gas_says_what_to_do_stops_the_feed_and_tells_at_once(cast, settings):
    settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
    raised = smell(cast)
    said = " ".join(str(sentence) for sentence in raised.sentences)
    assert str(raised.sentences[0]).startswith("No flame")
    for word in ("switch", "Open doors", "valve", "Go outside", cast.group.emergency_number):
        assert word in said
    limits = day_limits(cast.group, cast.today, 2)["duarte-drum"]
    assert [day.limits.max_feed_g for day in limits.days] == [0, 0]
    assert limits.days[0].limits.binding("vs_g").rule_id == "gas_smell"
    assert Pickup.objects.of(cast.group).get().state == "withdrawn"
    assert "Light nothing" in str(why_not_light(cast.drum))
    first = todays_exceptions(cast.group, now=cast.now + timedelta(minutes=6))
    assert [each.kind for each in first[:2]] == [Kind.GAS_SMELL, Kind.WITHOUT_HOME]
    do_all("tell_concern")
    do_all("send_notice")
    [message] = [each for each in mail.outbox if each.to == ["carla@example.org"]]
    assert message.subject.startswith("SMELL OF GAS")
    assert cast.drum.place.street in message.body
    opened = Fact.objects.of(cast.group).get(kind="address_opened")
    assert opened.actor_uuid == cast.carla.uuid
    assert opened.subject_uuid == cast.drum.place.uuid


def test_it_is_lit_and_fed_again_only_when_somebody_named_has_tested(cast):
    concern = smell(cast).concern
    later = cast.now + timedelta(hours=1)
    with pytest.raises(NotTested, match="Name who did"):
        close_concern(concern, answer="Mended.", closed_by=cast.carla, now=later)
    with pytest.raises(NotTested, match="Give the day"):
        close_concern(
            concern,
            answer="Mended.",
            closed_by=cast.carla,
            now=later,
            tightness_tested_by="Rui, licensed fitter",
            tightness_tested_on=cast.today - timedelta(days=1),
        )
    close_concern(
        concern,
        answer="A loose clamp; mended.",
        closed_by=cast.carla,
        now=later,
        tightness_tested_by="Rui, licensed fitter",
        tightness_tested_on=cast.today,
    )
    assert why_not_light(cast.drum) is None
    assert day_limits(cast.group, cast.today, 1)["duarte-drum"].days[0].limits.max_feed_g > 0


def test_a_second_report_joins_the_first_and_asks_nobody_s_name(cast):
    first, second = smell(cast, "a"), smell(cast, "b")
    assert (second.concern, second.is_repeat) == (first.concern, True)
    assert second.sentences == first.sentences
    assert Concern.objects.of(cast.group).get().raised_by is None


def test_flies_get_a_deadline_and_an_answer(cast):
    raised = smell(cast, kind=ConcernKind.FLIES, raised_by=cast.elsa)
    assert "answers by 2026-05-14" in str(raised.sentences[0])  # 72 hours, ours
    assert Pickup.objects.of(cast.group).get().state == "announced"
    late = cast.now + timedelta(days=4)
    assert Kind.CONCERN_OVERDUE in {each.kind for each in todays_exceptions(cast.group, now=late)}
    with pytest.raises(AnswerMissing):
        close_concern(raised.concern, answer=" ", closed_by=cast.carla, now=late)
    close_concern(raised.concern, answer="The bin has a lid now.", closed_by=cast.carla, now=late)
    do_all("tell_concern_closed")
    assert Work.objects.of(cast.group).filter(kind="send_notice").exists()


def test_many_concerns_are_too_many_but_never_a_smell_of_gas(cast, monkeypatch):
    monkeypatch.setattr(raising, "MOST_PER_HOUR", 1)
    smell(cast, "a", ConcernKind.FLIES)
    with pytest.raises(TooManyConcerns):
        smell(cast, "b", ConcernKind.LEAK)
    assert not smell(cast, "c").is_repeat
