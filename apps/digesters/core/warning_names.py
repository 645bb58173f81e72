"""What each warning is called."""

from collections.abc import Mapping
from types import MappingProxyType

from apps.digesters.core.process.digester_view import WarningKind
from apps.kernel.sentences import gettext_noop

WARNING_NAMES: Mapping[WarningKind, str] = MappingProxyType(
    {
        WarningKind.SOURING: gettext_noop("Souring"),
        WarningKind.HUNGRY: gettext_noop("Hungry"),
        WarningKind.HYDRAULIC: gettext_noop("Too much water"),
        WarningKind.AMMONIA: gettext_noop("Ammonia"),
        WarningKind.FATTY: gettext_noop("Too much fat"),
        WarningKind.CITRUS: gettext_noop("Too much citrus"),
        WarningKind.GAS_DROP: gettext_noop("Gas fell without cause"),
        WarningKind.FULL_HOLDER: gettext_noop("Gas holder full"),
        WarningKind.COLD_FRONT: gettext_noop("It will get cold"),
    }
)
