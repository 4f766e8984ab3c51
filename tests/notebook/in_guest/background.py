"""A process that goes on by itself when the one that started it ends."""

import os
from collections.abc import Callable
from pathlib import Path


def leave_behind(serve: Callable[[], None], number: Path) -> None:
    """Lets `serve` run in a silent process of its own, whose number is left in a file.

    Its end takes the device away that it serves.
    """
    if process := os.fork():
        number.parent.mkdir(parents=True, exist_ok=True)
        number.write_text(str(process))
        return
    try:
        os.setsid()
        os.chdir("/")
        nowhere = os.open(os.devnull, os.O_RDWR)
        for standard in (0, 1, 2):
            os.dup2(nowhere, standard)
        serve()
    finally:
        os._exit(0)
