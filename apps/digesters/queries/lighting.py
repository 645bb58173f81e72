"""Whether gas may be lit at a digester."""

from __future__ import annotations

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
    """The reason, or None when its gas may be burnt. One query, two while it rests: then nothing
    is lit before it is written down that the first holder was let out."""
    smells = Concern.objects.of(digester.group).filter(
        place=digester.place_id, kind=ConcernKind.GAS_SMELL, closed_at=None
    )
    if smells.exists():
        return Sentence(_SMELL)
    stage = Stage(digester.stage)
    holds_air = stage in NEVER_LIT or (stage is Stage.RESTING and not _was_vented(digester))
    return Sentence(_FIRST) if holds_air else None


def _was_vented(digester: Digester) -> bool:
    evidence = (
        StageChange.objects.of(digester.group)
        .filter(digester=digester, since_on__gte=digester.stage_since_on, stage=Stage.RESTING.value)
        .values_list("evidence", flat=True)
    )
    return any(Evidence.FIRST_GAS_VENTED.name in each.get("seen", ()) for each in evidence)
