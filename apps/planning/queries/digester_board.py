"""Every digester of a group at a glance: what went in, what is planned, what still fits, and
what needs somebody's eyes first. A constant number of queries."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from apps.digesters.core.day_limits import DayLimits, Limit
from apps.digesters.core.facts import QUANTITIES, TYPICAL_SLURRY_PPM, TYPICAL_VS_PPM
from apps.digesters.core.headroom import Claims, Load, headroom, spare_capacity
from apps.digesters.core.loading import Loading, find_loading
from apps.digesters.core.process.digester_view import WarningKind
from apps.digesters.models import Digester, RaisedWarning, StageName
from apps.digesters.queries.day_limits import DigesterDay, DigesterDays, limits_from
from apps.digesters.queries.records import read_records
from apps.feedstock.core.feeds import PPM
from apps.feedstock.core.materials import Material
from apps.feedstock.core.mixing import Portion
from apps.groups.models import Group
from apps.kernel.days import days_from
from apps.kernel.sentences import Sentence, gettext_noop
from apps.planning.models import DailyFeed, Plan, PlanStatus
from apps.planning.queries.in_force import plans_in_force

PAST_DAYS, NEXT_DAYS = 14, 7

USUAL_WASTE = Load(PPM, TYPICAL_VS_PPM, TYPICAL_SLURRY_PPM)
"""What 10^6 g of mixed market waste bring to the limits; headroom is told in kg of it."""

STOPPING = (
    "no_plate",
    "nobody_there",
    "gas_smell",
    "ph_stop",
    "sour_smell",
    "gas_fall_stop",
    "too_cold",
)
WATCHING = ("gas_fall_ask", "reading_stale", "cooling_hold")
WHEN_BINDING = ("gas_away", "outflow_room")
"""Rules that call for somebody's eyes when they are among a day's limits: the first kind stops
the feed, the second holds it; the third only matters where nothing else is smaller."""

_OVER = gettext_noop(
    "On %(on)s it was fed %(vs_g)s g of volatile solids; the most was %(max_g)s g."
)
_HUNGRY = gettext_noop(
    "In seven days it was fed %(vs_g)s g of volatile solids; it needs at least %(min_g)s g."
)
_UNPLANNED = gettext_noop("Nothing is planned for it, though it could take waste.")


@dataclass(frozen=True)
class BoardDay:
    """One day [g VS]: fed in the past, planned from today on; None where nobody knows."""

    on: date
    vs_g: int | None
    max_vs_g: int | None
    target_vs_g: int | None
    is_planned: bool


@dataclass(frozen=True)
class Warning:
    """Something to look at; `stops` means that it is not fed until then."""

    sentence: Sentence
    stops: bool


@dataclass(frozen=True)
class BoardRow:
    """One digester. `headroom_g` and `spare_g` are grams of usual market waste that still fit
    today; `binding` is the rule behind `spare_g`."""

    digester: Digester
    days: tuple[BoardDay, ...]
    today: DayLimits
    planned_today: DailyFeed | None
    loading_7_days: Loading
    headroom_g: int
    spare_g: int
    binding: Limit
    warnings: tuple[Warning, ...]
    own_g: int = 0
    own_foreseen_g: int = 0
    own_days: int = 0
    """Own kitchen waste that goes first today, of all that is foreseen, and the days written down
    that this comes from; 0 days: as the household said."""

    @property
    def is_stopped(self) -> bool:
        """Whether something keeps it from being fed."""
        return any(warning.stops for warning in self.warnings)


def digester_board(group: Group, on: date, *, codes: Iterable[str] | None = None) -> list[BoardRow]:
    """All digesters but closed ones, those with warnings first, then by code."""
    records = read_records(group, on)
    limits = limits_from(records, on, NEXT_DAYS)
    wanted = None if codes is None else set(codes)
    first = on - timedelta(days=PAST_DAYS)
    planned, stored = _plans(group, first, on)
    claims = _claims(group, on, records.materials)
    foreseen = _foreseen(group)
    rows = [
        _row(
            each,
            on,
            planned[each.digester.pk],
            stored[each.digester.pk],
            claims[code],
            foreseen[each.digester.pk],
        )
        for code, each in limits.items()
        if each.digester.stage != StageName.CLOSED and (wanted is None or code in wanted)
    ]
    return sorted(rows, key=lambda row: (not row.is_stopped, not row.warnings, row.digester.code))


Feeds = dict[int, dict[date, DailyFeed]]


def _plans(group: Group, first: date, on: date) -> tuple[Feeds, Feeds]:
    """By digester id and day: what the last plan announced for it says, from `on` on and
    before."""
    planned: Feeds = defaultdict(dict)
    stored: Feeds = defaultdict(dict)
    rows = (
        DailyFeed.objects.of(group)
        .filter(on__gte=first, on__lt=on + timedelta(days=NEXT_DAYS))
        .exclude(plan__status=PlanStatus.DRAFT)
        .select_related("plan")
        .defer("plan__document")
        .order_by("plan__version")
    )
    for feed in rows:
        (stored if feed.on < on else planned)[feed.digester_id][feed.on] = feed
    return planned, stored


SAID_BY_THE_BOARD = frozenset({WarningKind.HUNGRY})
"""Raised warnings that the board says itself."""


def _foreseen(group: Group) -> dict[int, list[Warning]]:
    """By digester id, what the process model warns of, the soonest first."""
    found: dict[int, list[Warning]] = defaultdict(list)
    for row in RaisedWarning.objects.of(group).filter(cleared_on=None):
        # A strip or a smell that was seen stops the feed, and the board says so itself.
        was_seen = row.kind == WarningKind.SOURING and row.certainty >= 1.0
        if row.kind not in SAID_BY_THE_BOARD and not was_seen:
            sentence = Sentence(row.evidence["template"], row.evidence["values"])
            found[row.digester_id].append(Warning(sentence, stops=False))
    return found


@dataclass(frozen=True)
class _Claimed:
    from_bin: tuple[Portion, ...] = ()
    promised: tuple[Portion, ...] = ()


def _claims(group: Group, on: date, materials: Mapping[str, Material]) -> dict[str, _Claimed]:
    """The day's feeds of the plan it goes by, from the bin and from what is brought."""
    found: dict[str, _Claimed] = defaultdict(_Claimed)
    plan_id = plans_in_force(group, on, on).get(on)
    if plan_id is None:
        return found
    plan = Plan.objects.of(group).get(pk=plan_id)
    stock = {lot["lot"] for digester in plan.document["digesters"] for lot in digester["stock"]}
    for feed in plan.document["feeds"]:
        if feed["on"] != on.isoformat() or feed["material"] not in materials:
            continue
        portion = Portion(materials[feed["material"]], feed["usable_g"])
        before = found[feed["digester"]]
        if feed["lot"] in stock:
            found[feed["digester"]] = _Claimed((*before.from_bin, portion), before.promised)
        else:
            found[feed["digester"]] = _Claimed(before.from_bin, (*before.promised, portion))
    return found


def _row(
    each: DigesterDays,
    on: date,
    planned: Mapping[date, DailyFeed],
    stored: Mapping[date, DailyFeed],
    claimed: _Claimed,
    foreseen: Sequence[Warning],
) -> BoardRow:
    today = each.days[0]
    claims = Claims(
        own_kitchen=today.own_kitchen,
        from_bin=claimed.from_bin,
        promised=claimed.promised,
        solids_target=today.solids_target,
    )
    headroom_g, _ = headroom(today.limits, claims).amount_g(USUAL_WASTE)
    spare_g, binding = spare_capacity(today.limits, claims).amount_g(USUAL_WASTE)
    return BoardRow(
        digester=each.digester,
        days=(*_past(each, on, stored), *_next(each, planned)),
        today=today.limits,
        planned_today=planned.get(on),
        loading_7_days=find_loading(
            each.records.fed.days, on - timedelta(days=1), 7, each.digester.working_volume_ml
        ),
        headroom_g=headroom_g,
        spare_g=spare_g,
        binding=binding,
        warnings=(*_warnings(each, today, on, planned, stored), *foreseen),
        own_g=today.own_load.feed_g,
        own_foreseen_g=today.own_foreseen_g,
        own_days=today.own_days,
    )


def _past(each: DigesterDays, on: date, stored: Mapping[date, DailyFeed]) -> list[BoardDay]:
    fed = each.records.fed.vs_g()
    return [
        BoardDay(
            on=day,
            vs_g=fed.get(day, 0),
            max_vs_g=stored[day].max_vs_g if day in stored else None,
            target_vs_g=stored[day].target_vs_g if day in stored else None,
            is_planned=False,
        )
        for day in days_from(on - timedelta(days=PAST_DAYS), PAST_DAYS)
    ]


def _next(each: DigesterDays, planned: Mapping[date, DailyFeed]) -> list[BoardDay]:
    return [
        BoardDay(
            on=day.on,
            vs_g=planned[day.on].feed_vs_g if day.on in planned else None,
            max_vs_g=day.limits.max_vs_g,
            target_vs_g=day.limits.target_vs_g,
            is_planned=True,
        )
        for day in each.days
    ]


def _warnings(
    each: DigesterDays,
    today: DigesterDay,
    on: date,
    planned: Mapping[date, DailyFeed],
    stored: Mapping[date, DailyFeed],
) -> Iterable[Warning]:
    said = set()
    binding = {today.limits.binding(quantity).rule_id for quantity in QUANTITIES}
    watched = {*STOPPING, *WATCHING, *(binding & {*WHEN_BINDING})}
    for limit in today.limits.limits:
        if limit.rule_id in watched and limit.rule_id not in said:
            said.add(limit.rule_id)
            yield Warning(limit.sentence, limit.rule_id in STOPPING)
    fed = each.records.fed.vs_g()
    yesterday = on - timedelta(days=1)
    last = stored.get(yesterday)
    if last is not None and fed.get(yesterday, 0) > last.max_vs_g:
        figures = {
            "on": yesterday.isoformat(),
            "vs_g": fed[yesterday],
            "max_g": last.max_vs_g,
        }
        yield Warning(Sentence(_OVER, figures), stops=False)
    week_g = sum(amount for day, amount in fed.items() if on - timedelta(days=7) <= day < on)
    needed_g = today.limits.min_vs_g * 7
    if needed_g and week_g < needed_g:
        yield Warning(Sentence(_HUNGRY, {"vs_g": week_g, "min_g": needed_g}), stops=False)
    if not planned and today.limits.target_vs_g:
        yield Warning(Sentence(_UNPLANNED), stops=False)
