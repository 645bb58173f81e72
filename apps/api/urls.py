"""All addresses of the API."""

from django.urls import include, path

from apps.api.resources import group, me, members, reference
from apps.api.view import Unknown

in_group = [
    *members.addresses,
]

urlpatterns = [
    *reference.addresses,
    path("v1/", include(me.addresses)),
    path("v1/groups/<slug:group>", group.GroupView.as_view(), name="api-group"),
    path("v1/groups/<slug:group>/", include(in_group)),
    path("<path:rest>", Unknown.as_view()),
]
