"""Let the process model learn: each evening for all of a group's digesters, and for one after
something was written down about it. What may be safely fed and what to warn of follow."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime

import numpy as np
from django.db import transaction

from apps.digesters.core.process.capacity import largest_feed
from apps.digesters.core.process.ensemble import joined
from apps.digesters.core.process.forecast import FeedPlan, forecast, summary
from apps.digesters.core.process.what_if import feed_plan
from apps.digesters.core.temperature_caps import olr_cap
from apps.digesters.models import Digester, ModelState, Reading
from apps.digesters.operations.catch_up_states import (
    NEVER_MODELLED,
    CaughtUp,
    catch_up_states,
)
from apps.digesters.operations.keep_warnings import keep_warnings
from apps.digesters.queries.day_facts import own_rules
from apps.digesters.queries.day_limits import limits_from
from apps.digesters.queries.model_outlook import planned_days, usual_mix
from apps.digesters.queries.planned_feeds import planned_feeds
from apps.digesters.queries.records import read_records
from apps.digesters.queries.warning_signs_seen import signs_seen
from apps.groups.models import Fact, Group, Work
from apps.groups.operations.ask_for_work import ask_for_work
from apps.kernel.days import local_date
from apps.ledger.models import Movement

LEAST_RUN_KG = 0.001
AT_A_TIME = 50
"""Digesters of one piece of work: even where each is followed from ninety days back, it ends well
within its lease, and a worker killed in the midst loses one piece. Measured:
`tests.benchmarks.digestion_evening`."""


def update_models(
    group: Group, *, now: datetime, digesters: Iterable[Digester] | None = None
) -> CaughtUp:
    """Catch the states up, size the safe feed of the week, keep the warnings. Once or twice
    makes no difference."""
    wanted = list(
        Digester.objects.of(group).select_related("group", "place").order_by("code")
        if digesters is None
        else digesters
    )
    today = local_date(now, group.time_zone)
    with transaction.atomic():
        caught = catch_up_states(group, wanted, today)
        if caught.states:
            _look_ahead(group, [each for each in wanted if each.pk in caught.states], caught, now)
    return caught


def _look_ahead(group: Group, digesters: list[Digester], caught: CaughtUp, now: datetime) -> None:
    today = local_date(now, group.time_zone)
    records = read_records(group, today, [each.pk for each in digesters])
    ensemble = joined([caught.states[each.pk].ensemble for each in digesters])
    volumes = np.array([each.working_volume_ml / 1e6 for each in digesters])
    planned = planned_feeds(group, today, [each.code for each in digesters])
    plans = [
        feed_plan(
            planned_days(caught.inputs[each.pk], today, planned_g=planned.get(each.code)),
            each.working_volume_ml / 1e6,
        )
        for each in digesters
    ]
    together = FeedPlan(
        np.concatenate([plan.loads for plan in plans], axis=2),
        np.concatenate([plan.dilution_per_d for plan in plans], axis=1),
        np.concatenate([plan.slurry_c for plan in plans], axis=1),
    )
    mixes = [usual_mix(caught.inputs[each.pk], today) for each in digesters]
    ceilings_kg = []
    for place, each in enumerate(digesters):
        rules = own_rules(records.digesters[each.code], records.rules)
        olr, _ = olr_cap(rules, float(together.slurry_c[:, place].min()))
        ceilings_kg.append(olr * volumes[place] / mixes[place].vs_per_kg)
    safe = largest_feed(
        ensemble, mixes, np.maximum(np.array(ceilings_kg), LEAST_RUN_KG), together.slurry_c
    )
    rows = {
        row.digester_id: row
        for row in ModelState.objects.of(group)
        .filter(digester__in=[each.pk for each in digesters], on=today)
        .defer("blob")
    }
    for place, each in enumerate(digesters):
        rows[each.pk].safe_vs_g = safe.model_vs_g(place)
    ModelState.unscoped.bulk_update(rows.values(), ["safe_vs_g"], batch_size=200)

    ahead = forecast(ensemble, together, volumes)
    limits = limits_from(records, today, 1)
    views = {}
    for place, each in enumerate(digesters):
        surprise = rows[each.pk].figures.get("gas_surprise")
        views[each] = signs_seen(
            records,
            limits[each.code],
            caught.inputs[each.pk],
            summary(ensemble, place),
            ahead,
            place,
            surprise,
        )
    keep_warnings(group, views, on=today, now=now)


def update_every_model(work: Work, now: datetime | None = None) -> None:
    """Consumer, each evening: put down one piece of work for every so many digesters. Each is
    done under its own lease, by whoever is free, and again by itself when it fails."""
    now = now or datetime.now(UTC)
    ids = list(
        Digester.objects.of(work.group)
        .exclude(stage__in=NEVER_MODELLED)
        .order_by("code")
        .values_list("pk", flat=True)
    )
    for first in range(0, len(ids), AT_A_TIME):
        ask_for_work(
            work.group,
            "update_some_models",
            key=f"{work.key}/{first // AT_A_TIME:05d}",
            due_at=now,
            payload={"digesters": ids[first : first + AT_A_TIME]},
        )


def update_some_models(work: Work, now: datetime | None = None) -> None:
    """Consumer of one piece of an evening."""
    _update_these(work.group, work.payload["digesters"], now)


def update_one_model(work: Work, now: datetime | None = None) -> None:
    """Consumer after something was written down about one digester."""
    fact = Fact.objects.of(work.group).get(uuid=work.payload["fact"])
    _update_these(work.group, _concerned(work.group, fact), now)


def _update_these(group: Group, ids: Iterable[int], now: datetime | None) -> None:
    digesters = list(
        Digester.objects.of(group)
        .filter(pk__in=ids)
        .select_related("group", "place")
        .order_by("code")
    )
    if digesters:
        update_models(group, now=now or datetime.now(UTC), digesters=digesters)


def _concerned(group: Group, fact: Fact) -> set[int]:
    """Digesters that a fact is about: itself, one of its readings, or a posting into it."""
    subject = fact.subject_uuid
    if subject is None:
        return set()
    found = set(Digester.objects.of(group).filter(uuid=subject).values_list("pk", flat=True))
    found |= set(Reading.objects.of(group).filter(uuid=subject).values_list("digester", flat=True))
    if not found:
        movements = Movement.objects.of(group).filter(posting__uuid=subject)
        accounts = {
            account for pair in movements.values_list("from_account", "to_account")
            for account in pair
        }  # fmt: skip
        found = set(
            Digester.objects.of(group).filter(account__in=accounts).values_list("pk", flat=True)
        )
    return found
