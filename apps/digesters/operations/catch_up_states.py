"""Bring the stored model states of digesters up to today: from the last day whose inputs still
are what they were. What is written down late, or withdrawn, thereby re-runs what follows it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from apps.digesters.core.process.state_blob import (
    MODEL_VERSION,
    StoredState,
    inputs_hash,
    pack_state,
)
from apps.digesters.core.process.track import (
    DayRecord,
    Night,
    Tracked,
    adopted,
    seeded,
    track,
)
from apps.digesters.models import Digester, ModelState, OwnWaste, StageChange, StageName
from apps.digesters.queries.model_inputs import ModelInputs, model_inputs
from apps.digesters.queries.model_outlook import Grams, own_waste_g
from apps.digesters.queries.stored_state import stored_state
from apps.groups.models import Group

LOOK_BACK_DAYS = 90
"""How late something may be written down and still re-run what followed. Chosen by us."""

USUAL_FIRST_DAYS = 28
"""A digester that joins running is taken to have been fed before as in its first weeks here."""

NEVER_MODELLED = frozenset({StageName.DRY, StageName.CLOSED})


@dataclass(frozen=True)
class CaughtUp:
    """Each modelled digester's inputs and newest state, and how many days were run anew."""

    inputs: Mapping[int, ModelInputs]
    states: Mapping[int, StoredState]
    days_run: Mapping[int, int]


def catch_up_states(group: Group, digesters: Iterable[Digester], today: date) -> CaughtUp:
    """A constant number of queries, and one write for all days run anew."""
    wanted = [each for each in digesters if each.stage not in NEVER_MODELLED]
    ids = [each.pk for each in wanted]
    first = today - timedelta(days=LOOK_BACK_DAYS)
    inputs = model_inputs(group, wanted, first, today)
    stored = _stored_hashes(group, ids, first)
    seedings = _seedings(group, wanted)
    own: dict[int, list[OwnWaste]] = defaultdict(list)
    for waste in OwnWaste.objects.of(group).filter(digester__in=ids).select_related("material"):
        own[waste.digester_id].append(waste)

    starts: dict[int, tuple[StoredState | date, tuple[DayRecord, ...]]] = {}
    for digester in wanted:
        told, seeded_on = inputs[digester.pk], seedings.get(digester.pk)
        known = stored[digester.pk]
        if seeded_on is not None and seeded_on >= first:
            # A new start: what was stored before it is of another filling.
            start = seeded(str(digester.uuid), seeded_on)
            if known.get(seeded_on) != start.inputs_hash:
                starts[digester.pk] = (start, told.records(seeded_on + timedelta(days=1), today))
                continue
            known = {on: each for on, each in known.items() if on >= seeded_on}
        if not known:
            start = _adopt(digester, told, own_waste_g(own, digester.pk), first, today)
            starts[digester.pk] = (start, told.records(start.on + timedelta(days=1), today))
            continue
        good_on, records = _last_good(digester, told, known, today)
        starts[digester.pk] = (good_on, records)

    states_stored = _stored_states(
        group, {pk: on for pk, (on, _) in starts.items() if isinstance(on, date)}
    )
    tracked: list[Tracked] = []
    states: dict[int, StoredState] = {}
    fresh: list[StoredState] = []
    for digester in wanted:
        start_at, records = starts[digester.pk]
        if isinstance(start_at, date):
            start = states_stored.get(digester.pk)
            if start is None:
                start = _adopt(
                    digester, inputs[digester.pk], own_waste_g(own, digester.pk), first, today
                )
                records = inputs[digester.pk].records(start.on + timedelta(days=1), today)
                fresh.append(start)
        else:
            start = start_at
            fresh.append(start)
        states[digester.pk] = start
        tracked.append(
            Tracked(str(digester.uuid), digester.working_volume_ml / 1e6, start, records)
        )
    nights = track(tracked, keep_every_day=True)
    by_uuid = {str(each.uuid): each for each in wanted}
    rows = [_row(by_uuid[start.digester], start, {}) for start in fresh]
    for digester, one, own_nights in zip(wanted, tracked, nights, strict=True):
        for record, night in zip(one.records, own_nights, strict=True):
            rows.append(_row(digester, night.state, _figures(record, night)))
        if own_nights:
            states[digester.pk] = own_nights[-1].state
    ModelState.unscoped.bulk_create(
        rows,
        batch_size=200,
        update_conflicts=True,
        unique_fields=["group", "digester", "on"],
        update_fields=["blob", "inputs_hash", "model_version", "figures", "safe_vs_g"],
    )
    return CaughtUp(
        inputs,
        states,
        {digester.pk: len(own_nights) for digester, own_nights in zip(wanted, nights, strict=True)},
    )


def _stored_hashes(group: Group, ids: Sequence[int], first: date) -> dict[int, dict[date, str]]:
    """Hashes of the days looked back on, and of the newest day where there is none of them."""
    found: dict[int, dict[date, str]] = {pk: {} for pk in ids}
    rows = ModelState.objects.of(group).filter(digester__in=ids, model_version=MODEL_VERSION)
    for pk, on, each in rows.filter(on__gte=first - timedelta(days=1)).values_list(
        "digester_id", "on", "inputs_hash"
    ):
        found[pk][on] = each
    return found


def _seedings(group: Group, digesters: Sequence[Digester]) -> dict[int, date]:
    """The day on which each was last filled, where that is known."""
    found = {
        each.pk: each.stage_since_on
        for each in digesters
        if each.stage in (StageName.SEEDED, StageName.RESTING)
    }
    for pk, on in (
        StageChange.objects.of(group)
        .filter(digester__in=[each.pk for each in digesters], stage=StageName.SEEDED)
        .order_by("since_on", "id")
        .values_list("digester_id", "since_on")
    ):
        found[pk] = on
    return found


def _adopt(
    digester: Digester, inputs: ModelInputs, own_g: Grams, first: date, today: date
) -> StoredState:
    """A digester that ran before anybody wrote anything down here."""
    days = sorted(on for on, grams in inputs.fed_g.items() if sum(grams.values()) > 0)
    start_on = (days[0] if days else today) - timedelta(days=1)
    early = [on for on in days if (on - start_on).days <= USUAL_FIRST_DAYS]
    usual: dict[str, float] = dict(own_g) if not early else {}
    for on in early:
        for code, amount_g in inputs.fed_g[on].items():
            usual[code] = usual.get(code, 0.0) + max(0, amount_g) / len(early)
    water_l = (
        sum(inputs.water_ml.get(on, 0) for on in early) / 1000 / len(early)
        if early
        else sum(usual.values()) / 1000
    )
    return adopted(
        str(digester.uuid),
        start_on,
        digester.working_volume_ml / 1e6,
        inputs.portions(usual),
        water_l,
        inputs.slurry_c(start_on, 1)[0],
    )


def _last_good(
    digester: Digester, inputs: ModelInputs, known: Mapping[date, str], today: date
) -> tuple[date, tuple[DayRecord, ...]]:
    """The last stored day whose inputs are unchanged, and the records of the days after it."""
    good_on = min(known)
    records = inputs.records(good_on + timedelta(days=1), today)
    chained, working_m3 = known[good_on], digester.working_volume_ml / 1e6
    unchanged = 0
    for record in records:
        chained = inputs_hash(chained, [record, working_m3])
        if known.get(record.on) != chained:
            break
        good_on = record.on
        unchanged += 1
    return good_on, records[unchanged:]


def _stored_states(group: Group, wanted: Mapping[int, date]) -> dict[int, StoredState | None]:
    rows = ModelState.objects.of(group).filter(digester__in=wanted, on__in=set(wanted.values()))
    return {row.digester_id: stored_state(row) for row in rows if wanted[row.digester_id] == row.on}


def _row(digester: Digester, state: StoredState, figures: dict[str, object]) -> ModelState:
    return ModelState(
        group=digester.group,
        digester=digester,
        on=state.on,
        blob=pack_state(state),
        inputs_hash=state.inputs_hash,
        model_version=MODEL_VERSION,
        figures=figures,
    )


def _figures(record: DayRecord, night: Night) -> dict[str, object]:
    """What the history shows of a day; gas in dry standard m3."""
    figures: dict[str, object] = {
        "gas_foreseen_m3": round(night.gas_foreseen_m3, 5),
        "slurry_c": round(record.slurry_c, 2),
    }
    if record.gas is not None:
        since = night.gas_since_m3
        figures |= {
            "gas_seen_m3": round(record.gas.standard_m3, 5),
            "at_least": record.gas.at_least,
            "since_m3": [round(each, 5) for each in (since.low, since.middle, since.high)],
            "gas_surprise": round(night.gas_surprise, 3),
        }
    if record.ph is not None:
        figures |= {"ph": record.ph, "ph_surprise": round(night.ph_surprise, 3)}
    return figures
