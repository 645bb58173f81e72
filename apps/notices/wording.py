"""The words of each kind of notice: a text template, first line the subject."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.template.loader import render_to_string
from django.utils.translation import gettext as _

from apps.digesters.core.cautions import CAUTIONS, DEFER
from apps.digesters.core.concerns import GAS_SMELL_STEPS
from apps.digesters.core.process.digester_view import WarningKind
from apps.digesters.core.warning_names import WARNING_NAMES
from apps.digesters.models import Concern, ConcernKind, Digester
from apps.kernel.quantities import in_thousands
from apps.notices.addresses import day_address, round_address
from apps.notices.models import Notice
from apps.notices.queries.day_ahead import digester_day, source_day
from apps.pickups.models import ForeignKind, Pickup
from apps.pickups.operations.make_day_link import make_day_link
from apps.pickups.queries.two_weights import two_weights
from apps.pickups.queries.who_to_ask import whom_to_ask
from apps.places.core.hours import clock
from apps.places.operations.open_address import open_address
from apps.planning.models import Standing
from apps.rounds.models import Round
from apps.rounds.operations.make_round_link import make_round_link
from apps.supply.models import Source, Stream


@dataclass(frozen=True, slots=True)
class Words:
    """A finished message."""

    subject: str
    text: str


def word_notice(notice: Notice, *, now: datetime) -> Words:
    """In the language that is active now. A link, and the opening of an address, are written
    down here and nowhere else."""
    context = {"notice": notice, "group": notice.group, **_CONTEXTS[notice.kind](notice, now)}
    subject, _newline, text = (
        render_to_string(f"notices/{notice.kind}.txt", context).strip().partition("\n")
    )
    lines = [line.rstrip() for line in text.strip().splitlines()]
    return Words(subject.strip(), "\n".join(_single_gaps(lines)) + "\n")


def _single_gaps(lines: list[str]) -> list[str]:
    """Template tags leave empty lines behind; one at a time is enough."""
    return [line for at, line in enumerate(lines) if line or (at and lines[at - 1])]


def _digester_day(notice: Notice, now: datetime) -> dict[str, Any]:
    digester = Digester.objects.of(notice.group).get(uuid=notice.payload["digester"])
    on = date.fromisoformat(notice.payload["on"])
    token = make_day_link(notice.member, on, now=now, digester=digester)
    return {
        "on": on,
        "day": digester_day(digester, on),
        "link": day_address(token),
        "is_change": notice.version > 1,
    }


def _source_day(notice: Notice, now: datetime) -> dict[str, Any]:
    source = Source.objects.of(notice.group).get(uuid=notice.payload["source"])
    on = date.fromisoformat(notice.payload["on"])
    token = make_day_link(notice.member, on, now=now, source=source)
    return {
        "on": on,
        "day": source_day(source, on),
        "link": day_address(token),
        "is_change": notice.version > 1,
    }


def _pickup_open(notice: Notice, now: datetime) -> dict[str, Any]:
    pickup = (
        Pickup.objects.of(notice.group)
        .select_related("source", "digester")
        .get(uuid=notice.payload["pickup"])
    )
    return {"pickup": pickup, "reason": notice.payload.get("reason", "")}


def _pickup(notice: Notice, now: datetime) -> dict[str, Any]:
    pickup = (
        Pickup.objects.of(notice.group)
        .select_related("source", "digester")
        .prefetch_related("lines__stream__material")
        .get(uuid=notice.payload["pickup"])
    )
    return {"pickup": pickup}


def _pickup_with_link(notice: Notice, now: datetime) -> dict[str, Any]:
    found = _pickup(notice, now)
    pickup = found["pickup"]
    token = make_day_link(notice.member, pickup.on, now=now, digester=pickup.digester)
    return {**found, "link": day_address(token)}


def _two_weights(notice: Notice, now: datetime) -> dict[str, Any]:
    found = _pickup(notice, now)
    both = two_weights(found["pickup"])
    return {
        **found,
        "giver_kg": None if both.giver_g is None else in_thousands(both.giver_g),
        "fetcher_kg": None if both.fetcher_g is None else in_thousands(both.fetcher_g),
        "coordinators": whom_to_ask(notice.group),
        "giver_is_right": notice.payload.get("giver_is_right", False),
    }


def _standing(notice: Notice, now: datetime) -> dict[str, Any]:
    standing = (
        Standing.objects.of(notice.group)
        .select_related("stream__source", "stream__material", "digester", "asked_by", "ended_by")
        .get(uuid=notice.payload["standing"])
    )
    who = standing.ended_by if notice.kind == "standing_ended" else standing.asked_by
    return {
        "standing": standing,
        "kg": None if standing.amount_g is None else in_thousands(standing.amount_g),
        "who": who.name if who else "–",
    }


def _concern(notice: Notice, now: datetime) -> dict[str, Any]:
    concern = (
        Concern.objects.of(notice.group)
        .select_related("place__group")
        .get(uuid=notice.payload["concern"])
    )
    address = ""
    if concern.kind == ConcernKind.GAS_SMELL and notice.kind == "concern_raised":
        address = open_address(
            concern.place, by=notice.member, reason="a smell of gas was reported", now=now
        )
    return {
        "concern": concern,
        "address": address,
        "is_gas": concern.kind == ConcernKind.GAS_SMELL,
        "steps": GAS_SMELL_STEPS,
    }


def _overfed(notice: Notice, now: datetime) -> dict[str, Any]:
    digester = Digester.objects.of(notice.group).get(uuid=notice.payload["digester"])
    given, most = notice.payload["given"], notice.payload["most"]
    quantity = max(given, key=lambda each: given[each] / max(most[each], 1))
    return {
        "digester": digester,
        "on": date.fromisoformat(notice.payload["on"]),
        "quantity": quantity,
        "given": f"{given[quantity] / 1000:g}",
        "most": f"{most[quantity] / 1000:g}",
    }


def _digester_warning(notice: Notice, now: datetime) -> dict[str, Any]:
    raised = notice.payload["raised"]
    evidence = raised["evidence"]
    return {
        "digester": Digester.objects.of(notice.group).get(uuid=notice.payload["digester"]),
        "kind": _(WARNING_NAMES[WarningKind(raised["warning"])]),
        "evidence": _(evidence["template"]) % evidence["values"],
        "advice": _(raised["advice"]) % (),
        "cautions": [*(_(CAUTIONS[key].text) for key in raised["cautions"]), _(DEFER)],
    }


def _round(notice: Notice, now: datetime) -> dict[str, Any]:
    found = (
        Round.objects.of(notice.group)
        .select_related("carrier__member", "group")
        .get(uuid=notice.payload["round"])
    )
    return {
        "round": found,
        "is_change": notice.payload["is_change"],
        "stops": found.stops.filter(is_live=True).count(),
        "depart": clock(round(found.figures["depart_s"] / 60)),
        "back": clock(round(found.figures["back_s"] / 60)),
        "link": round_address(make_round_link(found, now=now)),
    }


def _round_dropped(notice: Notice, now: datetime) -> dict[str, Any]:
    return {"round": Round.objects.of(notice.group).get(uuid=notice.payload["round"])}


def _source_sorting(notice: Notice, now: datetime) -> dict[str, Any]:
    stream = (
        Stream.objects.of(notice.group)
        .select_related("source", "material")
        .get(uuid=notice.payload["stream"])
    )
    found = notice.payload.get("kinds", [])
    return {
        "stream": stream,
        "what": notice.payload["what"],
        "found": ", ".join(str(ForeignKind(kind).label) for kind in found),
        "reason": notice.payload.get("reason", ""),
    }


_CONTEXTS: dict[str, Callable[[Notice, datetime], dict[str, Any]]] = {
    "digester_day": _digester_day,
    "source_day": _source_day,
    "pickup_open": _pickup_open,
    "concern_raised": _concern,
    "concern_closed": _concern,
    "overfed": _overfed,
    "digester_warning": _digester_warning,
    "pickup_reminder": _pickup_with_link,
    "pickup_standby": _pickup_with_link,
    "pickup_handed": _pickup_with_link,
    "pickup_unfetched": _pickup,
    "pickup_late": _pickup,
    "pickup_composted": _pickup,
    "pickup_contested": _two_weights,
    "pickup_settled": _two_weights,
    "source_sorting": _source_sorting,
    "standing_asked": _standing,
    "standing_agreed": _standing,
    "standing_ended": _standing,
    "round": _round,
    "round_dropped": _round_dropped,
}
