"""Pickups."""

from django.apps import AppConfig


class PickupsConfig(AppConfig):
    """See DEVELOPERS.md for what belongs here."""

    name = "apps.pickups"
    default_auto_field = "django.db.models.BigAutoField"
