"""Notices."""

from django.apps import AppConfig


class NoticesConfig(AppConfig):
    """See DEVELOPERS.md for what belongs here."""

    name = "apps.notices"
    default_auto_field = "django.db.models.BigAutoField"
