"""Reports."""

from django.apps import AppConfig


class ReportsConfig(AppConfig):
    """Files in and out, and the demo."""

    name = "apps.reports"
    default_auto_field = "django.db.models.BigAutoField"
