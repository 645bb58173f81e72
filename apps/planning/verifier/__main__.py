"""`python -m apps.planning.verifier plan.json`: exit 0 when sound, 1 with violations, 2 unread."""

from __future__ import annotations

import json
import sys
from pathlib import Path

from apps.planning.verifier.verify import verify


def main(arguments: list[str]) -> int:
    if len(arguments) != 1:
        print("Usage: python -m apps.planning.verifier plan.json", file=sys.stderr)
        return 2
    try:
        document = json.loads(Path(arguments[0]).read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        print(f"{arguments[0]} could not be read: {error}", file=sys.stderr)
        return 2
    violations = verify(document)
    for violation in violations:
        print(f"{violation.rule}: {violation.place}: {violation.sentence}")
    print(f"{len(violations)} violation(s) in {arguments[0]}")
    return 1 if violations else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
