"""Whether gas may be lit at a digester."""

from __future__ import annotations

from apps.digesters.core.stages import Stage
from apps.digesters.models import Concern, ConcernKind, Digester
from apps.kernel.sentences import Sentence, gettext_noop

_SMELL = gettext_noop(
    "Light nothing: gas was smelled here. Wait until somebody named has tested for tightness."
)
_FIRST = gettext_noop(
    "Light nothing: the first gas holds air and can explode. Vent the first holder outdoors."
)
NEVER_LIT = frozenset({Stage.DRY, Stage.SEEDED, Stage.CLOSED})


def why_not_light(digester: Digester) -> Sentence | None:
    """The reason, or None when its gas may be burnt. One query."""
    smells = Concern.objects.of(digester.group).filter(
        place=digester.place_id, kind=ConcernKind.GAS_SMELL, closed_at=None
    )
    if smells.exists():
        return Sentence(_SMELL)
    return Sentence(_FIRST) if Stage(digester.stage) in NEVER_LIT else None
