"""Check a round from a file: `python -m apps.rounds.verifier round.json`."""

from __future__ import annotations

import json
import sys
from pathlib import Path

from apps.rounds.verifier.verify import verify


def main(path: str) -> int:
    """Print every fault; 0 when there is none."""
    try:
        document = json.loads(Path(path).read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        print(f"{path} cannot be read: {error}")
        return 2
    faults = verify(document)
    for fault in faults:
        print(f"{fault.rule}: {fault.sentence}")
    print(f"{len(faults)} faults" if faults else "sound")
    return 1 if faults else 0


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("Name one file.")
    sys.exit(main(sys.argv[1]))
