"""Groups."""

from django.apps import AppConfig


class GroupsConfig(AppConfig):
    """Groups, facts and work."""

    name = "apps.groups"
    default_auto_field = "django.db.models.BigAutoField"
