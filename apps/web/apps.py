"""Web."""

from django.apps import AppConfig


class WebConfig(AppConfig):
    """Server-rendered pages; every task works without script."""

    name = "apps.web"
