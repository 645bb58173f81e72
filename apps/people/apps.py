"""People."""

from django.apps import AppConfig


class PeopleConfig(AppConfig):
    """Accounts, members and roles."""

    name = "apps.people"
    default_auto_field = "django.db.models.BigAutoField"
