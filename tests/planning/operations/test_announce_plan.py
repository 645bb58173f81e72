"""Announcing: whole or not at all, fresh and sound, one at a time."""

from __future__ import annotations

from copy import deepcopy
from datetime import timedelta
from threading import Barrier, Thread

import pytest
from django.db import IntegrityError, connection, transaction

from apps.digesters.models import ReadingKind
from apps.digesters.operations.record_reading import record_reading
from apps.groups.models import Fact
from apps.planning.core.canonical import hash_problem
from apps.planning.core.export import plan_document
from apps.planning.core.plan_facts import Document
from apps.planning.core.read_document import problem_of
from apps.planning.core.solve import solve
from apps.planning.models import DailyFeed, Plan, PlanStatus
from apps.planning.operations.announce_plan import (
    NotADraft,
    StaleDraft,
    UnsoundPlan,
    announce_plan,
)
from apps.planning.operations.make_plan import make_plan
from apps.planning.operations.reproduce_plan import reproduce_plan
from apps.planning.verifier import verify
from tests.cast import Cast, make_cast
from tests.planning.first_plans import first_announced, first_draft


def test_announcing_supersedes_the_plan_before(cast: Cast) -> None:
    first = first_announced()
    second = announce_plan(make_plan(cast.group, now=cast.now), now=cast.now)
    first.refresh_from_db()
    assert (first.status, second.status) == (PlanStatus.SUPERSEDED, PlanStatus.ANNOUNCED)
    assert Fact.objects.of(cast.group).filter(kind="plan_announced").count() == 2


def test_a_plan_is_announced_once(cast: Cast) -> None:
    plan = first_announced()
    with pytest.raises(NotADraft, match="announced already"):
        announce_plan(plan, now=cast.now)


def test_a_draft_is_stale_when_a_digester_soured_since(cast: Cast) -> None:
    plan = first_draft()
    record_reading(
        cast.dome, kind=ReadingKind.PH, value=620, taken_at=cast.now, now=cast.now, client_key="a"
    )
    with pytest.raises(StaleDraft, match=r"digesters changed \(elsa-dome\)"):
        announce_plan(plan, now=cast.now)
    assert not Plan.objects.of(cast.group).filter(status=PlanStatus.ANNOUNCED).exists()


def test_a_draft_of_days_that_are_over_is_stale(cast: Cast) -> None:
    plan = first_draft()
    with pytest.raises(StaleDraft, match="which is over"):
        announce_plan(plan, now=cast.now + timedelta(days=3))


def test_an_unsound_document_is_not_announced(cast: Cast) -> None:
    plan = first_draft()
    plan.document["placements"][0]["amount_g"] += 50_000
    plan.save()
    with pytest.raises(UnsoundPlan, match=r"breaks \d+ rule"):
        announce_plan(plan, now=cast.now)


def test_the_database_refuses_a_feed_over_the_stored_maximum(cast: Cast) -> None:
    plan = first_draft()
    feed = plan.daily_feeds.filter(digester=cast.drum).first()
    assert feed is not None
    with pytest.raises(IntegrityError), transaction.atomic():
        DailyFeed.objects.of(cast.group).filter(pk=feed.pk).update(feed_vs_g=feed.max_vs_g + 1)


def test_the_same_rows_give_the_same_plan_again(cast: Cast) -> None:
    plan = first_draft()
    assert make_plan(cast.group, now=cast.now).document == plan.document | {"plan": "2"}
    assert reproduce_plan(plan).is_same


def test_a_plan_stored_before_documents_said_what_a_trip_costs_is_made_again(cast: Cast) -> None:
    plan = first_draft()
    older = _without_later_figures(plan.document)
    problem = problem_of(older)
    assert problem.rules.trip_g_m == 1_000_000
    plan.document = _without_later_figures(plan_document(problem, solve(problem)))
    plan.input_hash = hash_problem(problem, without=frozenset({"trip_g_m"}))
    plan.document["provenance"]["input_hash"] = plan.input_hash
    assert verify(plan.document) == []
    assert reproduce_plan(plan).is_same


def _without_later_figures(document: Document) -> Document:
    """As documents were before batches had a low figure and trips a price."""
    document = deepcopy(document)
    del document["rules"]["trip_g_m"]
    for batch in document["batches"]:
        del batch["low_g"], batch["high_g"]
    return document


@pytest.mark.django_db(transaction=True)
def test_of_two_announced_at_once_one_counts() -> None:
    cast = make_cast()
    drafts = [make_plan(cast.group, now=cast.now, seed=seed) for seed in (1, 2)]
    start, outcomes = Barrier(2), []

    def announce(draft: Plan) -> None:
        start.wait()
        try:
            announce_plan(draft, now=cast.now)
            outcomes.append("announced")
        except StaleDraft:
            outcomes.append("stale")
        finally:
            connection.close()

    threads = [Thread(target=announce, args=(draft,)) for draft in drafts]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(outcomes) == ["announced", "stale"]
    assert Plan.objects.of(cast.group).filter(status=PlanStatus.ANNOUNCED).count() == 1
