"""All addresses of the API."""

from django.urls import include, path, register_converter
from django.urls.converters import StringConverter

from apps.api.resources import (
    absences,
    destinations,
    digesters,
    exchange,
    feedings,
    groups,
    kitchens,
    limits,
    materials,
    me,
    members,
    offers,
    places,
    plan_rows,
    plans,
    readings,
    reference,
    sources,
    stages,
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
    *absences.addresses,
    *materials.addresses,
    *sources.addresses,
    *offers.addresses,
    *destinations.addresses,
    *digesters.addresses,
    *kitchens.addresses,
    *readings.addresses,
    *stages.addresses,
    *limits.addresses,
    *feedings.addresses,
    *plans.addresses,
    *plan_rows.addresses,
    *wishes.addresses,
    *exchange.addresses,
]

urlpatterns = [
    *reference.addresses,
    path("v1/", include([*me.addresses, *groups.addresses])),
    path("v1/groups/<slug:group>/", include(in_group)),
    path("<anything:rest>", Unknown.as_view()),
]
