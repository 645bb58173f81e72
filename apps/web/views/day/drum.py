"""Gas in the holder as a picture with its words."""

from __future__ import annotations

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from apps.digesters.queries.gas_now import GasNow
from apps.web.charts.drum import draw_drum


def draw_gas(gas: GasNow | None) -> SafeString:
    """Dashed where nobody has read the holder."""
    if gas is None:
        return draw_drum(None, says=_("Nobody has read the gas holder yet."))
    says = _("The gas holder is %(percent)s %% full.") % {"percent": round(gas.height_share * 100)}
    return draw_drum(round(gas.height_share * 1_000_000), says=says)
