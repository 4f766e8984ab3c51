"""The host's end of a session: programs are run, files written and read inside the guest."""

import base64
import json
import socket
import zlib
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

PATIENCE: Final = 20.0
"""Seconds beyond those that a program was given, for the line to bring its answer."""

LOADED_WITHIN: Final = 120.0


class GuestError(RuntimeError):
    """The guest did not do what it was asked for, or no longer answers."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ran:
    """How a program in the guest ended; `seconds` by the guest's clock."""

    status: int
    out: bytes
    err: bytes
    seconds: float

    @property
    def text(self) -> str:
        """What it printed."""
        return self.out.decode("utf-8", "replace")


class Session:
    """The line to a guest."""

    def __init__(self, place: Path) -> None:
        self._socket = socket.socket(socket.AF_UNIX)
        self._socket.connect(str(place))
        self._arrived = b""

    def wait_until_ready(self, seconds: float) -> float:
        """When the guest was ready, in seconds since its kernel started."""
        while not (line := self._line(seconds)).startswith(b'{"ready"'):
            pass  # UEFI firmware greets on every serial line
        return float(json.loads(line)["ready"])

    def load_agent(self, place: str) -> None:
        """Loads the agent at this place; from then on `run_agent` runs it."""
        self._answer({"load": place}, LOADED_WITHIN)

    def run_agent(self, *arguments: str, seconds: float) -> Ran:
        """Runs a command of the loaded agent as root, in a child of what loaded it."""
        request = {"closeout": arguments, "seconds": seconds}
        return _ran(self._answer(request, seconds + PATIENCE))

    def run(
        self, *program: str, user: str = "root", seconds: float = 60, given: bytes = b""
    ) -> Ran:
        """Runs a program to its end; one that does not end in time has status 124."""
        request = {"run": program, "user": user, "seconds": seconds, "input": _packed(given)}
        return _ran(self._answer(request, seconds + PATIENCE))

    def write(self, path: str, content: bytes, mode: int = 0o644) -> None:
        """Writes a file with the folders above it."""
        self._answer({"write": path, "content": _packed(content), "mode": mode}, PATIENCE)

    def write_from_memory(self, path: str, address: int, length: int) -> None:
        """Writes a file whose content the host has laid in the guest's memory."""
        self._answer({"write": path, "tray": (address, length)}, PATIENCE)

    def read(self, path: str) -> bytes:
        """The content of a file."""
        return _unpacked(self._answer({"read": path}, PATIENCE)["content"])

    def close(self) -> None:
        """Hangs up; the guest goes on."""
        self._socket.close()

    def _answer(self, request: dict[str, Any], seconds: float) -> dict[str, Any]:
        self._socket.sendall(json.dumps(request).encode("ascii") + b"\n")
        reply: dict[str, Any] = json.loads(self._line(seconds))
        if "error" in reply:
            raise GuestError(f"{request.get('run') or request}: {reply['error']}")
        return reply

    def _line(self, seconds: float) -> bytes:
        self._socket.settimeout(seconds)
        while b"\n" not in self._arrived:
            try:
                arrived = self._socket.recv(1 << 16)
            except TimeoutError:
                raise GuestError(f"no answer within {seconds:.0f} s") from None
            if not arrived:
                raise GuestError("the guest has ended")
            self._arrived += arrived
        line, _, self._arrived = self._arrived.partition(b"\n")
        return line


def _ran(reply: dict[str, Any]) -> Ran:
    return Ran(
        status=reply["status"],
        out=_unpacked(reply["out"]),
        err=_unpacked(reply["err"]),
        seconds=reply["seconds"],
    )


def _packed(content: bytes) -> str:
    return base64.b64encode(zlib.compress(content)).decode("ascii")


def _unpacked(text: str) -> bytes:
    return zlib.decompress(base64.b64decode(text))
