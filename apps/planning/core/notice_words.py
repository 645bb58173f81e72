"""What a source is told, in words for the translators' catalogue."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta

from apps.kernel.sentences import Sentence, gettext_noop
from apps.planning.core.destinations import Destination, Sending
from apps.planning.core.plan_facts import Names
from apps.planning.core.problem import Problem
from apps.planning.core.source_notices import Coming, SourceNotice
from apps.planning.core.tables import thousandths

COMES = gettext_noop("%(home)s comes on %(on)s for %(kg)s kg %(material)s.")
COMES_BETWEEN = gettext_noop(
    "%(home)s comes on %(on)s between %(opens)s and %(closes)s for %(kg)s kg %(material)s."
)
NOBODY = gettext_noop("Nobody comes on %(on)s.")
KEEP = gettext_noop("Please keep %(kg)s kg %(material)s; somebody may come until %(until)s.")
GOES = gettext_noop("%(kg)s kg %(material)s go to %(destination)s on %(on)s.")
STAYS = gettext_noop(
    "No digester and no other place can take %(kg)s kg %(material)s: they stay with you."
)
UNDECIDED = gettext_noop("%(kg)s kg %(material)s are not decided yet: the next plan will tell.")


def say_notice(
    problem: Problem, notice: SourceNotice, names: Names, destinations: Iterable[Destination]
) -> tuple[Sentence, ...]:
    """Who comes first, then what to keep, then where the rest goes."""
    on = (problem.starts_on + timedelta(days=notice.day)).isoformat()
    places = {each.code: each.name for each in destinations}
    materials = {batch.code: batch.material for batch in problem.batches}
    said = [_say_coming(coming, on, names) for coming in notice.comings]
    if notice.nobody_comes:
        said.append(Sentence(NOBODY, {"on": on}))
    leaving = {sending.batch for sending in notice.sendings}
    for kept in notice.kept:
        if kept.batch not in leaving and notice.day < kept.until_day:
            until = (problem.starts_on + timedelta(days=kept.until_day)).isoformat()
            values = _amount(kept.amount_g, kept.material, names)
            said.append(Sentence(KEEP, values | {"until": until}))
    for sending in notice.sendings:
        values = _amount(sending.amount_g, materials[sending.batch], names)
        said.append(_say_sending(sending, values, on, places))
    return tuple(said)


def _say_coming(coming: Coming, on: str, names: Names) -> Sentence:
    values = _amount(coming.amount_g, coming.material, names) | {
        "home": names.digesters.get(coming.digester, coming.digester),
        "on": on,
    }
    if coming.opens is None or coming.closes is None:
        return Sentence(COMES, values)
    return Sentence(COMES_BETWEEN, values | {"opens": coming.opens, "closes": coming.closes})


def _say_sending(
    sending: Sending, values: dict[str, str], on: str, places: dict[str, str]
) -> Sentence:
    if sending.destination is not None:
        name = places.get(sending.destination, sending.destination)
        return Sentence(GOES, values | {"destination": name, "on": on})
    return Sentence(UNDECIDED if sending.undecided else STAYS, values)


def _amount(amount_g: int, material: str, names: Names) -> dict[str, str]:
    return {
        "kg": thousandths(amount_g),
        "material": names.materials.get(material, material),
    }
