"""The secret key of a machine on which nobody set one: made once, kept in an ignored folder."""

from __future__ import annotations

import os
import secrets
from pathlib import Path


def local_secret(folder: Path) -> str:
    """Read `folder`/secret_key, making it on first use. Readable by its owner only; when two
    processes race, the one that creates the file wins and both read it."""
    path = folder / "secret_key"
    folder.mkdir(parents=True, exist_ok=True)
    try:
        descriptor = os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
    except FileExistsError:
        return path.read_text()
    with os.fdopen(descriptor, "w") as file:
        file.write(secrets.token_urlsafe(50))
    return path.read_text()
