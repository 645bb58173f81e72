"""Feedstock."""

from django.apps import AppConfig


class FeedstockConfig(AppConfig):
    """See DEVELOPERS.md for what belongs here."""

    name = "apps.feedstock"
    default_auto_field = "django.db.models.BigAutoField"
