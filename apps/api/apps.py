"""API."""

from django.apps import AppConfig


class ApiConfig(AppConfig):
    """The same operations as the pages, for scripts."""

    name = "apps.api"
    default_auto_field = "django.db.models.BigAutoField"
