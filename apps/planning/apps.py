"""Planning."""

from django.apps import AppConfig


class PlanningConfig(AppConfig):
    """See DEVELOPERS.md for what belongs here."""

    name = "apps.planning"
    default_auto_field = "django.db.models.BigAutoField"
