"""Whether gas may be lit at a digester."""

from __future__ import annotations

from collections.abc import Iterable

from apps.digesters.core.stages import Evidence, Stage
from apps.digesters.models import Concern, ConcernKind, Digester, StageChange
from apps.kernel.sentences import Sentence, gettext_noop

_SMELL = gettext_noop(
    "Light nothing: gas was smelled here. Wait until somebody named has tested for tightness."
)
_FIRST = gettext_noop(
    "Light nothing: the first gas holds air and can explode. Vent the first holder outdoors."
)
NEVER_LIT = frozenset({Stage.DRY, Stage.SEEDED, Stage.CLOSED})


def why_not_light(digester: Digester) -> Sentence | None:
    """The reason, or None when its gas may be burnt. One query, two while it rests."""
    smells = Concern.objects.of(digester.group).filter(
        place=digester.place_id, kind=ConcernKind.GAS_SMELL, closed_at=None
    )
    if smells.exists():
        return Sentence(_SMELL)
    rests = Stage(digester.stage) is Stage.RESTING
    changes = StageChange.objects.of(digester.group).filter(digester=digester) if rests else ()
    return Sentence(_FIRST) if holds_air(digester, changes) else None


def holds_air(digester: Digester, changes: Iterable[StageChange]) -> bool:
    """Whether its gas holds air as far as is known: from its seeding until somebody has written
    down that the whole first holder was let out."""
    stage = Stage(digester.stage)
    if stage is not Stage.RESTING:
        return stage in NEVER_LIT
    return not any(
        Evidence.FIRST_GAS_VENTED.name in change.evidence.get("seen", ())
        for change in changes
        if change.stage == digester.stage and change.since_on >= digester.stage_since_on
    )
