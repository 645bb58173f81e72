"""Gas in the holder as a picture with its words."""

from __future__ import annotations

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from apps.digesters.models import Digester, DigesterKind
from apps.digesters.queries.gas_now import GasNow
from apps.web.charts.drum import draw_drum
from apps.web.charts.holder import draw_bag, draw_dome

DRAWN = {DigesterKind.FIXED_DOME: draw_dome, DigesterKind.BAG: draw_bag}


def draw_gas(digester: Digester, gas: GasNow | None) -> SafeString:
    """By the kind of its holder; dashed where nobody has read it."""
    draw = DRAWN.get(DigesterKind(digester.kind), draw_drum)
    if gas is None:
        return draw(None, says=_("Nobody has read the gas holder yet."))
    says = _("The gas holder is %(percent)s %% full.") % {"percent": round(gas.height_share * 100)}
    return draw(round(gas.height_share * 1_000_000), says=says)
