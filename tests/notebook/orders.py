"""Orders to a running emulator (QMP): one at a time, each with its answer."""

import json
import socket
from pathlib import Path
from types import TracebackType
from typing import Any, Self


class OrderError(RuntimeError):
    """The emulator refused an order; the text is its own."""


class Orders:
    """A connection that takes orders."""

    def __init__(self, place: Path) -> None:
        self._socket = socket.socket(socket.AF_UNIX)
        self._socket.settimeout(60)
        self._socket.connect(str(place))
        self._lines = self._socket.makefile("rw", encoding="utf-8")
        self._lines.readline()  # the greeting
        self.give("qmp_capabilities")

    def give(self, order: str, **terms: Any) -> Any:  # noqa: ANN401 - JSON either way
        """What the emulator returns; events that come in between are passed over."""
        self._lines.write(json.dumps({"execute": order, "arguments": terms}) + "\n")
        self._lines.flush()
        while line := self._lines.readline():
            reply = json.loads(line)
            if "return" in reply:
                return reply["return"]
            if "error" in reply:
                raise OrderError(f"{order}: {reply['error']['desc']}")
        raise OrderError(f"{order}: the emulator has ended")

    def close(self) -> None:
        """Ends the connection, not the emulator."""
        self._lines.close()
        self._socket.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        fault: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()
