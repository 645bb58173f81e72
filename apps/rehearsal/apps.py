"""The app's configuration."""

from django.apps import AppConfig


class RehearsalConfig(AppConfig):
    """A rehearsed year."""

    name = "apps.rehearsal"
