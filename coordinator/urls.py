"""All addresses: pages, the API and health."""

from django.urls import URLPattern, URLResolver, path

from coordinator.health import alive, ready

urlpatterns: list[URLPattern | URLResolver] = [
    path("healthz", alive, name="alive"),
    path("readyz", ready, name="ready"),
]
