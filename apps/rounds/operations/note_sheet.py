"""Write down what somebody typed in from the printed sheet: all of it, or nothing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from uuid import UUID

from django.db import transaction

from apps.groups.models import Group
from apps.rounds.core.sheet_lines import SheetLine
from apps.rounds.models import RoundStop, StopSide, StopState
from apps.rounds.operations.announce_round import locked
from apps.rounds.operations.note_stop import StopAct, note_stop_done, note_stop_problem


@transaction.atomic
def note_sheet(group: Group, round_uuid: UUID, lines: Sequence[SheetLine], act: StopAct) -> int:
    """Return how many stops were noted now; those noted before are passed over, so that a sheet
    can be typed in twice. What was fetched comes first, whatever the order of the lines."""
    found = locked(group, round_uuid)
    stops = {stop.short_code: stop for stop in found.stops.all()}
    count = 0
    for line in sorted(lines, key=lambda each: stops[each.code].side != StopSide.FETCH):
        stop = stops[line.code]
        if RoundStop.unscoped.get(pk=stop.pk).state != StopState.WAITING:
            continue
        one = replace(act, client_key=f"{act.client_key}-{line.code}")
        if line.is_problem:
            note_stop_problem(group, stop.uuid, one, reason="other", went_to=line.went_to)
        else:
            note_stop_done(group, stop.uuid, one, amount_g=line.amount_g, is_confirmed=True)
        count += 1
    return count
