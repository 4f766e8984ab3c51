"""A process that goes on by itself when the one that started it ends."""

import os
from collections.abc import Callable


def leave_behind(serve: Callable[[], None]) -> None:
    """Lets `serve` run in a silent process of its own; its end is nobody's business."""
    if os.fork():
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
