"""A person's account. One account may be a member of several groups; it has no password."""

from __future__ import annotations

import uuid
from typing import Any

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.utils.translation import gettext_lazy as _


class UserManager(BaseUserManager["User"]):
    """Accounts are known by their e-mail address, whatever its capitals."""

    def create_user(self, email: str, **fields: Any) -> User:
        """Make an account that signs in by links only."""
        user = self.model(email=email.strip().lower(), **fields)
        user.set_unusable_password()
        user.full_clean(exclude=["password"])
        user.save(using=self._db)
        return user

    def get_by_natural_key(self, username: str | None) -> User:
        """Look an account up by its address."""
        return self.get(email=(username or "").strip().lower())


class User(AbstractBaseUser):
    """Somebody who can sign in; `is_operator` runs the installation and sees no group's data."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    email = models.EmailField(_("e-mail address"), unique=True)
    name = models.CharField(_("name"), max_length=120)
    language = models.CharField(_("language"), max_length=10, default="en")
    is_operator = models.BooleanField(default=False)
    is_active = models.BooleanField(default=True)
    created_at = models.DateTimeField(auto_now_add=True)

    objects = UserManager()

    USERNAME_FIELD = "email"
    REQUIRED_FIELDS = ["name"]

    def __str__(self) -> str:
        return self.name
