"""Who carries, and their rounds."""

from django.apps import AppConfig


class RoundsConfig(AppConfig):
    """Tables of carriers and rounds."""

    name = "apps.rounds"
