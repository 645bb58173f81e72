"""A script of one member, as it would call the API."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any
from uuid import uuid4

from django.test import Client

from apps.people.models import Member
from tests.access.actors import bearer


@dataclass
class Caller:
    """Sends a token of `member`; addresses are relative to the member's group."""

    member: Member

    def __post_init__(self) -> None:
        self.client = Client(
            raise_request_exception=False, headers=bearer(self.member, uuid4().hex)
        )
        self.base = f"/api/v1/groups/{self.member.group.code}"

    def call(
        self,
        method: str,
        address: str = "",
        body: Any = None,
        *,
        key: str | None = None,
        headers: dict[str, str] | None = None,
    ) -> Any:
        """The response, with `.data` read from its JSON. A POST gets a fresh key by default."""
        sent = dict(headers or {})
        if method == "POST":
            sent["Idempotency-Key"] = uuid4().hex if key is None else key
        where = address if address.startswith("/api") else self.base + address
        text = "" if body is None else body if isinstance(body, str) else json.dumps(body)
        response = self.client.generic(
            method, where, text, content_type="application/json", headers=sent
        )
        is_json = "json" in response.headers.get("Content-Type", "")
        response.data = json.loads(response.content) if response.content and is_json else None
        return response

    def get(self, address: str = "", **kwargs: Any) -> Any:
        """GET."""
        return self.call("GET", address, **kwargs)

    def post(self, address: str, body: Any = None, **kwargs: Any) -> Any:
        """POST."""
        return self.call("POST", address, body, **kwargs)

    def put(self, address: str, body: Any = None, **kwargs: Any) -> Any:
        """PUT."""
        return self.call("PUT", address, body, **kwargs)
