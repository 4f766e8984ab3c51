"""The agent loaded once: each command of it then runs in a child, without a start or an import.

Of an emulated processor's time for a check as much as a third went into loading what every check
loads.
"""

import io
import os
import pkgutil
import re
import signal
import sys
import tempfile
import time
import traceback
from collections.abc import Sequence
from contextlib import suppress
from importlib import import_module
from typing import IO

TOO_LATE = 124  # as timeout(1) ends
LEFT_OUT = (
    *("closeout.__main__", "closeout.media", "closeout.cli.terminal"),
    "closeout.cli.station_key",  # needs a library that a check without a key does not
    "closeout.depot",  # the same, and a ledger is kept at a desk
    *("closeout.report.pdf_parts", "closeout.report.pades", "closeout.report.added"),
    "closeout.cli.document_pages",  # so are documents made
)
LIBRARIES = ("psutil", "pyudev", "cpuinfo")  # those that are asked for a second opinion


def load(place: str) -> None:
    """Every module of the agent at this place that a check may need."""
    sys.path.insert(0, place)
    import closeout  # noqa: PLC0415 - it is there only now

    for found in pkgutil.walk_packages(closeout.__path__, "closeout."):
        if not found.name.startswith(LEFT_OUT):
            import_module(found.name)
    opinions = import_module("closeout.kernel.opinions")
    for library in LIBRARIES:
        opinions._import(library)
    _compile_patterns()


def _compile_patterns() -> None:
    """Every pattern that waits until it is tried: `re` keeps it for all children."""
    late = import_module("closeout.model.late_pattern").LatePattern
    modules = [module for name, module in sys.modules.items() if name.startswith("closeout.")]
    for found in {
        value for module in modules for value in vars(module).values() if isinstance(value, late)
    }:
        re.compile(found.pattern, found._flags)


def run(arguments: Sequence[str], seconds: float) -> tuple[int, bytes, bytes]:
    """`closeout` with these arguments, as root: how it ends, and what it prints."""
    with tempfile.TemporaryFile() as out, tempfile.TemporaryFile() as err:
        child = os.fork()
        if not child:
            _become(arguments, out, err)
        status = _wait(child, seconds)
        out.seek(0)
        err.seek(0)
        return status, out.read(), err.read()


def _become(arguments: Sequence[str], out: IO[bytes], err: IO[bytes]) -> None:
    """The child: its own session, its streams; it never comes back."""
    status = 70
    try:
        os.setsid()
        nothing = os.open(os.devnull, os.O_RDONLY)
        for descriptor, stream in enumerate((nothing, out.fileno(), err.fileno())):
            os.dup2(stream, descriptor)
        sys.stdin = io.TextIOWrapper(io.FileIO(0))
        sys.stdout, sys.stderr = (io.TextIOWrapper(io.FileIO(n, "w")) for n in (1, 2))
        os.chdir(os.environ["HOME"])
        sys.argv = ["closeout", *arguments]
        import_module("closeout.cli.main").run()
    except SystemExit as end:
        status = end.code if isinstance(end.code, int) else 1
    except Exception:  # noqa: BLE001 - nobody is above it to tell
        traceback.print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(status)


def _wait(child: int, seconds: float) -> int:
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        ended, status = os.waitpid(child, os.WNOHANG)
        if ended:
            return os.waitstatus_to_exitcode(status)
        time.sleep(0.02)
    with suppress(ProcessLookupError):  # it has not come to a session of its own
        os.killpg(child, signal.SIGKILL)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return TOO_LATE
