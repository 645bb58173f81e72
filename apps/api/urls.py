"""All addresses of the API."""

from django.urls import include, path, register_converter
from django.urls.converters import StringConverter

from apps.api.resources import (
    absences,
    calendar_days,
    carriers,
    concerns,
    destinations,
    digesters,
    exceptions,
    exchange,
    feedings,
    foreign_matter,
    groups,
    homes_away,
    kitchens,
    late_messages,
    limits,
    living,
    materials,
    me,
    members,
    next_homes,
    notices,
    offers,
    outflows,
    pails,
    pickup_changes,
    pickup_steps,
    pickups,
    pictures,
    places,
    plan_rows,
    plans,
    readings,
    recipes,
    reference,
    rehearsals,
    round_changes,
    round_stops,
    rounds,
    shares,
    source_days,
    sources,
    stages,
    standings,
    start_ups,
    streets,
    tokens,
    wishes,
)
from apps.api.view import Unknown


class Anything(StringConverter):
    """Every rest of an address, line breaks too."""

    regex = "(?s:.+)"


register_converter(Anything, "anything")

in_group = [
    *members.addresses,
    *tokens.addresses,
    *places.addresses,
    *streets.addresses,
    *absences.addresses,
    *calendar_days.addresses,
    *materials.addresses,
    *sources.addresses,
    *offers.addresses,
    *destinations.addresses,
    *digesters.addresses,
    *kitchens.addresses,
    *readings.addresses,
    *stages.addresses,
    *limits.addresses,
    *living.addresses,
    *feedings.addresses,
    *plans.addresses,
    *plan_rows.addresses,
    *wishes.addresses,
    *exchange.addresses,
    *pickups.addresses,
    *pickup_steps.addresses,
    *pickup_changes.addresses,
    *carriers.addresses,
    *rounds.addresses,
    *round_changes.addresses,
    *round_stops.addresses,
    *next_homes.addresses,
    *recipes.addresses,
    *pictures.addresses,
    *source_days.addresses,
    *exceptions.addresses,
    *standings.addresses,
    *late_messages.addresses,
    *concerns.addresses,
    *homes_away.addresses,
    *start_ups.addresses,
    *outflows.addresses,
    *pails.addresses,
    *foreign_matter.addresses,
    *notices.addresses,
    *rehearsals.addresses,
    *shares.addresses,
]

urlpatterns = [
    *reference.addresses,
    path("v1/", include([*me.addresses, *groups.addresses])),
    path("v1/groups/<slug:group>/", include(in_group)),
    path("<anything:rest>", Unknown.as_view()),
]
