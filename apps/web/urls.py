"""Addresses of the pages. Whatever lies under /g/<group>/ belongs to one group."""

from __future__ import annotations

from django.urls import include, path

import apps.web.converters  # noqa: F401 - days in addresses
from apps.web.views import (
    addresses,
    assignments,
    digesters,
    found_group,
    front,
    home,
    materials,
    people,
    places,
    plans,
    reports,
    settings,
    sheets,
    sign_in,
    sources,
    stages,
    week,
)
from apps.web.views.day import doors

group_pages = [
    path("", home.home, name="group-home"),
    path("my-week/", home.my_week, name="my-week"),
    path("digesters/", digesters.digesters, name="digesters"),
    path("digesters/add/", digesters.add_digester, name="add-digester"),
    path("digesters/<slug:code>/", digesters.digester, name="digester"),
    path("digesters/<slug:code>/change/", digesters.change_digester, name="change-digester"),
    path("digesters/<slug:code>/stage/", stages.stage, name="stage"),
    path("map/", addresses.neighbourhood, name="map"),
    path("places/<slug:code>/address/", addresses.open_one, name="open-address"),
    path("week/", week.week, name="week"),
    path("week/make/", week.make, name="make-plan"),
    path("week/assignments/<uuid:uuid>/", assignments.assignment, name="assignment"),
    path("week/pins/<uuid:uuid>/lift/", assignments.lift_one_pin, name="lift-pin"),
    path("week/bans/<uuid:uuid>/lift/", assignments.lift_one_ban, name="lift-ban"),
    path("plans/", plans.plans, name="plans"),
    path("plans/<int:version>/", plans.plan, name="plan"),
    path("plans/<int:version>/week/", week.plan_by_version, name="plan-week"),
    path("plans/<int:version>/left-over/<uuid:uuid>/", assignments.left_over, name="left-over"),
    path("plans/<int:version>/announce/", week.announce, name="announce-plan"),
    path("plans/<int:version>/files/<slug:form>/", plans.plan_file, name="plan-file"),
    path("sheets/", sheets.sheets, name="sheets"),
    path("sheets/<slug:sheet>/", sheets.bring_in, name="bring-in"),
    path("sheets/<slug:sheet>/preview/", sheets.preview, name="preview-sheet"),
    path("sheets/<slug:sheet>/file/<slug:form>/", sheets.take_out, name="take-out"),
    path("sheets/<slug:sheet>/template/<slug:form>/", sheets.template, name="sheet-template"),
    path("settings/", settings.settings, name="settings"),
    path("people/", people.people, name="people"),
    path("people/invite/", people.invite, name="invite"),
    path("people/<slug:code>/", people.person, name="person"),
    path("people/<slug:code>/leave/", people.leave, name="person-leaves"),
    path("materials/", materials.materials, name="materials"),
    path("materials/add/", materials.add_material, name="add-material"),
    path("materials/<slug:code>/", materials.material, name="material"),
    path("places/", places.places, name="places"),
    path("places/add/", places.add_place, name="add-place"),
    path("places/<slug:code>/", places.change_place, name="change-place"),
    path("sources/", sources.sources, name="sources"),
    path("sources/add/", sources.add_source, name="add-source"),
    path("sources/<slug:code>/", sources.change_source, name="change-source"),
    path("sources/<slug:code>/streams/add/", sources.add_stream, name="add-stream"),
    path("sources/<slug:code>/streams/<slug:stream>/", sources.change_stream, name="change-stream"),
    path("destinations/add/", sources.add_destination, name="add-destination"),
    path("destinations/<slug:code>/", sources.change_destination, name="change-destination"),
]

group_day_pages = [
    path("my-day/", doors.my_day, name="my-day"),
    path("my-day/<slug:kind>/<slug:code>/<day:on>/", doors.signed_in, name="my-day-of"),
    path(
        "my-day/<slug:kind>/<slug:code>/<day:on>/pickups/<uuid:uuid>/",
        doors.signed_in,
        name="my-day-pickup",
    ),
    path(
        "my-day/<slug:kind>/<slug:code>/<day:on>/<slug:part>/",
        doors.signed_in,
        name="my-day-part",
    ),
    path("labels/", reports.labels, name="labels"),
]

day_pages = [
    path("day/<str:token>/", doors.by_link, name="day"),
    path("day/<str:token>/pickups/<uuid:uuid>/", doors.by_link, name="day-pickup"),
    path("day/<str:token>/<slug:part>/", doors.by_link, name="day-part"),
    path("report/", reports.report, name="report"),
    path("report/seen/<uuid:uuid>/", reports.concern, name="concern"),
    path("report/<slug:group>/<slug:place>/", reports.report_place, name="report-place"),
    path("report/<slug:group>/<slug:place>/<slug:kind>/", reports.report_kind, name="report-kind"),
]

urlpatterns = [
    path("", front.front, name="front"),
    path("sign-in/", sign_in.ask, name="sign-in"),
    path("sign-in/sent/", sign_in.sent, name="sign-in-sent"),
    path("sign-in/<str:token>/", sign_in.use_link, name="sign-in-link"),
    path("invitation/<str:token>/", sign_in.use_invitation, name="invitation"),
    path("sign-out/", sign_in.sign_out, name="sign-out"),
    path("language/", sign_in.choose_language, name="language"),
    path("new-group/", found_group.found_group, name="found-group"),
    path("g/<slug:group>/", include(group_pages)),
    path("g/<slug:group>/", include(group_day_pages)),
    *day_pages,
]
