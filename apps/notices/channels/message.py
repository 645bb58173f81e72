"""What a channel carries, and what a channel is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol


@dataclass(frozen=True, slots=True)
class Message:
    """Finished words for one person. `key` is the same at every try, so that a gateway that
    honours it shows the message once."""

    key: str
    to: str
    subject: str
    text: str


class CouldNotSend(Exception):
    """The gateway did not take it; try again later."""


class Channel(Protocol):
    """One way to reach people, such as e-mail."""

    name: str

    def send(self, message: Message) -> None:
        """Hand it over, or raise `CouldNotSend`."""
