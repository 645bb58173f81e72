"""What the API remembers."""

from apps.api.models.idempotency_key import IdempotencyKey

__all__ = ["IdempotencyKey"]
