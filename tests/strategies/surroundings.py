"""A command called in this process with streams, clock and folder of its own."""

from dataclasses import dataclass
from datetime import UTC, datetime
from io import BytesIO, TextIOWrapper
from pathlib import Path

from closeout.cli.main import call
from closeout.cli.surroundings import Surroundings

NOON = datetime(2026, 11, 20, 12, tzinfo=UTC)


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """How a command ended, and every byte of what it said."""

    code: int
    raw: bytes
    raw_errors: bytes
    encoding: str = "utf-8"

    @property
    def out(self) -> str:
        """The output stream as text."""
        return self.raw.decode(self.encoding)

    @property
    def err(self) -> str:
        """The error stream as text."""
        return self.raw_errors.decode(self.encoding)


class Stream(TextIOWrapper):
    """A stream into memory that may claim to be a terminal; what it cannot encode raises."""

    def __init__(self, kept: BytesIO, encoding: str, *, terminal: bool) -> None:
        super().__init__(kept, encoding=encoding, errors="strict", newline="")
        self._terminal = terminal

    def isatty(self) -> bool:
        """What the test says."""
        return self._terminal


class Typed(BytesIO):
    """Lines that somebody types at a terminal."""

    def isatty(self) -> bool:  # type: ignore[explicit-override]  # typing has it from 3.12
        """A person sits there."""
        return True


def call_in(
    folder: Path,
    *arguments: object,
    stdin: bytes = b"",
    encoding: str = "utf-8",
    terminal: bool = False,
    typed: bytes | None = None,
    now: datetime = NOON,
) -> Told:
    """Runs `closeout ARGUMENTS` with `folder` as the current one; a usage error ends it too.

    What is `typed` comes from a terminal, which input and output then are.
    """
    terminal = terminal or typed is not None
    kept = (BytesIO(), BytesIO())
    stdout, stderr = (Stream(one, encoding, terminal=terminal) for one in kept)
    surroundings = Surroundings(
        stdin=BytesIO(stdin) if typed is None else Typed(typed),
        stdout=stdout,
        stderr=stderr,
        now=now.timestamp,
        folder=folder,
        machine=Path("/nowhere"),
    )
    try:
        code: object = call([str(argument) for argument in arguments], surroundings)
    except SystemExit as ending:
        code = ending.code
    stdout.flush()
    stderr.flush()
    assert isinstance(code, int)
    raw, raw_errors = (one.getvalue() for one in kept)
    return Told(code=int(code), raw=raw, raw_errors=raw_errors, encoding=encoding)
