"""Digesters."""

from django.apps import AppConfig


class DigestersConfig(AppConfig):
    """See DEVELOPERS.md for what belongs here."""

    name = "apps.digesters"
    default_auto_field = "django.db.models.BigAutoField"
