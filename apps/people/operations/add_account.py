"""Whoever installs the service makes the first account; everybody else is invited."""

from __future__ import annotations

from django.db import transaction

from apps.people.models import User


@transaction.atomic
def add_account(email: str, *, name: str, language: str = "en", is_operator: bool = False) -> User:
    """Return the account of this address, made here if there is none. An operator's right may be
    added to one that is there. Raises Django's `ValidationError`."""
    user = User.objects.filter(email=email.strip().lower()).first()
    if user is None:
        return User.objects.create_user(
            email, name=name, language=language, is_operator=is_operator
        )
    if is_operator and not user.is_operator:
        user.is_operator = True
        user.save(update_fields=["is_operator"])
    return user
