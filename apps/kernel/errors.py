"""The one family of errors that people may see.

An operation that cannot do what it was asked raises a `Refused` (or its own subclass): what
happened, the figure that mattered, what to do next. Pages and API each translate it in one
place; anything else is a fault of ours and is shown generically.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping


class Refused(Exception):
    """A clear "no". `code` is stable and for machines, the sentence is for people.

    `template` may name `figures` as %(name)s; a face passes its own `translate` to `sentence`.
    """

    code = "refused"
    status = 422

    def __init__(
        self,
        template: str,
        *,
        field: str | None = None,
        figures: Mapping[str, object] | None = None,
    ) -> None:
        super().__init__(template)
        self.template = template
        self.field = field
        self.figures = dict(figures or {})

    def sentence(self, translate: Callable[[str], str] = str) -> str:
        """The whole sentence in the reader's language."""
        text = translate(self.template)
        return text % self.figures if self.figures and "%(" in text else text

    def __str__(self) -> str:
        return self.sentence()


class Conflict(Refused):
    """The thing changed meanwhile, or the request was used for something else."""

    code = "conflict"
    status = 409


class NeedsConfirmation(Refused):
    """It may be done, but only by somebody who has read the danger named in the message."""

    code = "needs_confirmation"
    status = 409


class NotAllowed(Refused):
    """The person may not do this here."""

    code = "not_allowed"
    status = 403
