"""The guided run of one target, in a process of its own, since it ends with it.

    python -m fuzz.engine TARGET SECONDS FOLDER

What is found goes to FOLDER/found, from what is in FOLDER/starts; what crashes to FOLDER/crashes.
"""

import sys
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["closeout"]):
    from fuzz.targets import REFUSALS, targets

LONGEST = 65536
"""Of an input, in bytes."""
SLOW = 20
"""Seconds after which an input counts as a crash."""
MOST_MEMORY = 4096
"""MiB, the same."""


def main(name: str, seconds: str, folder: str) -> None:
    """Fuzzes until the time is over or something crashes."""
    run = targets()[name].run

    def once(raw: bytes) -> None:
        try:
            run(raw)
        except REFUSALS:
            return

    place = Path(folder)
    atheris.Setup(
        [
            sys.argv[0],
            *(f"-max_total_time={seconds}", f"-max_len={LONGEST}", f"-timeout={SLOW}"),
            *(f"-rss_limit_mb={MOST_MEMORY}", f"-artifact_prefix={place / 'crashes'}/"),
            *("-print_final_stats=1", str(place / "found"), str(place / "starts")),
        ],
        once,
    )
    atheris.Fuzz()


if __name__ == "__main__":
    main(*sys.argv[1:])
