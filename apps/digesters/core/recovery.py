"""How a soured digester is brought back, or seeded again: one step after another. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

from apps.kernel.words import gettext_noop

STRIP_DAYS = 2
"""A strip older than this does not say how it stands now. Chosen by us."""

WAIT_DAYS = 7
"""Days without feed before lime or dung: only "if pH resists stabilising" (Biogas Digest II p. 7,
read); how long to wait is chosen by us."""

GIVE_UP_DAYS = 30
"""Days after which it is seeded again: a month, chosen by us."""

LOST_PH = 5.0
"""Below this neither the model nor its reference came back when feeding stopped, in 300 made-up
runs; nothing published was found."""

SOUR_PH, WELL_PH = 6.5, 6.8
"""The limits `ph_stop` and `ph_good`."""


class RecoveryStep(StrEnum):
    """The steps, in their order."""

    STOP = "stop"
    STRIP = "strip"
    WAIT = "wait"
    BUFFER = "buffer"
    FEED = "feed"
    RESEED = "reseed"


@dataclass(frozen=True, slots=True)
class RecoveryText:
    """One screen: title, what to do, the caution keys that belong to it, and where it is from."""

    title: str
    todo: str
    cautions: tuple[str, ...]
    source: str


RECOVERY: Mapping[RecoveryStep, RecoveryText] = MappingProxyType(
    {
        RecoveryStep.STOP: RecoveryText(
            gettext_noop("Feed nothing"),
            gettext_noop(
                "Stop all waste and water today, own kitchen waste too. Keep the waste drained and "
                "lidded or take it to the compost. The gas may not burn: do not try to light it "
                "again and again."
            ),
            ("hydrogen_sulphide", "gas_fire"),
            gettext_noop("Biogas Digest II p. 7 (breaking-in signs)"),
        ),
        RecoveryStep.STRIP: RecoveryText(
            gettext_noop("Dip a pH strip"),
            gettext_noop(
                "Take a cup of slurry from the outlet, dip a strip, read it at once and write it "
                "down indoors. Do so every day until it is well."
            ),
            ("hygiene", "indoors_phone"),
            gettext_noop("Common practice, no source"),
        ),
        RecoveryStep.WAIT: RecoveryText(
            gettext_noop("Wait"),
            gettext_noop(
                "It is still sour, or not well yet. Feed nothing, stir if it has a stirrer, and "
                "dip a strip every day. Most come back by themselves within a week or two."
            ),
            ("hydrogen_sulphide",),
            gettext_noop("Biogas Digest II p. 7: lime or dung only if pH resists stabilising"),
        ),
        RecoveryStep.BUFFER: RecoveryText(
            gettext_noop("Dung, or a little lime"),
            gettext_noop(
                "A week without feed has not helped. Stir in fresh cattle dung with water, or "
                "slurry from a healthy neighbour, up to a tenth of its volume; draw off as much. "
                "Only without dung: a little hydrated lime stirred into a bucket of water, then a "
                "strip the next day, and never more once it reads 6.8."
            ),
            ("lime", "lifting", "hygiene"),
            gettext_noop(
                "Biogas Digest II p. 7 (read); a tenth of the volume: Voegeli 2014 (from memory)"
            ),
        ),
        RecoveryStep.FEED: RecoveryText(
            gettext_noop("Feed a tenth"),
            gettext_noop(
                "The strip reads 6.8 or more. Feed a tenth of what it took before for a week, then "
                "a quarter, as its page says each day. Try the gas at the burner first, window "
                "open."
            ),
            ("gas_fire", "hygiene"),
            gettext_noop("The limits of feed after a souring: chosen by us"),
        ),
        RecoveryStep.RESEED: RecoveryText(
            gettext_noop("Seed it again"),
            gettext_noop(
                "It will not come back by waiting. Ask the coordinator: trained people draw most "
                "of it off and air it, and it is filled with dung and water and rests as when it "
                "was new."
            ),
            ("pit_entry", "hydrogen_sulphide", "digestate"),
            gettext_noop("Common practice, no source"),
        ),
    }
)


def recovery_step(
    *, is_recovering: bool, is_sour: bool, days_stopped: int, strip: float | None, strip_days: int
) -> RecoveryStep | None:
    """The step that comes next; None where nothing soured.

    `is_sour`: the last strip or smell stops feeding; `strip`: the last pH, `strip_days` old.
    """
    if not is_recovering:
        return RecoveryStep.STOP if is_sour else None
    if strip is None or strip_days > STRIP_DAYS:
        return RecoveryStep.STRIP
    if strip < LOST_PH or (strip < SOUR_PH and days_stopped >= GIVE_UP_DAYS):
        return RecoveryStep.RESEED
    if strip < SOUR_PH and days_stopped >= WAIT_DAYS:
        return RecoveryStep.BUFFER
    if strip < WELL_PH or is_sour:
        return RecoveryStep.WAIT
    return RecoveryStep.FEED
