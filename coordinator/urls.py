"""All addresses: pages, the API and health."""

from django.urls import URLPattern, URLResolver, include, path

from coordinator.health import alive, ready

urlpatterns: list[URLPattern | URLResolver] = [
    path("healthz", alive, name="alive"),
    path("readyz", ready, name="ready"),
    path("api/", include("apps.api.urls")),
    path("", include("apps.web.urls")),
]
