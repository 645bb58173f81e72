"""Every sheet that can be imported and exported, each after those that it refers to."""

from __future__ import annotations

from typing import Any

from apps.digesters.models import Digester
from apps.feedstock.models import Material
from apps.people.models import Member
from apps.places.models import Place
from apps.reports.exchange.sheet import Sheet
from apps.reports.exchange.sheets.absences import ABSENCES
from apps.reports.exchange.sheets.calendar_days import CALENDAR_DAYS
from apps.reports.exchange.sheets.carriers import CARRIERS
from apps.reports.exchange.sheets.collections import COLLECTIONS
from apps.reports.exchange.sheets.destinations import DESTINATIONS
from apps.reports.exchange.sheets.digesters import DIGESTERS
from apps.reports.exchange.sheets.feedings import FEEDINGS
from apps.reports.exchange.sheets.materials import MATERIALS
from apps.reports.exchange.sheets.measures import MEASURES
from apps.reports.exchange.sheets.offers import OFFERS
from apps.reports.exchange.sheets.people import PEOPLE
from apps.reports.exchange.sheets.places import PLACES
from apps.reports.exchange.sheets.readings import READINGS
from apps.reports.exchange.sheets.sources import SOURCES
from apps.reports.exchange.sheets.streams import STREAMS
from apps.supply.models import Source, Stream

SHEETS: dict[str, Sheet] = {
    sheet.name: sheet
    for sheet in (
        PEOPLE,
        PLACES,
        ABSENCES,
        CALENDAR_DAYS,
        MATERIALS,
        MEASURES,
        SOURCES,
        STREAMS,
        OFFERS,
        DESTINATIONS,
        CARRIERS,
        DIGESTERS,
        COLLECTIONS,
        FEEDINGS,
        READINGS,
    )
}

CODED_MODELS: dict[str, Any] = {
    "people": Member,
    "places": Place,
    "materials": Material,
    "sources": Source,
    "streams": Stream,
    "digesters": Digester,
}
"""Tables whose codes other sheets refer to."""
