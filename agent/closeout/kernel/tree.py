"""The protocol that every source of readings speaks.

Paths are relative to the root and have no leading slash: `sys/class/dmi/id/product_serial`.
"""

from __future__ import annotations

from typing import Protocol


class KernelTree(Protocol):
    """Where readings come from. Every failure is a `ReadError`."""

    def read(self, path: str) -> bytes:
        """The whole content of a file."""
        ...

    def names(self, folder: str) -> tuple[str, ...]:
        """The sorted names in a folder. A listing that fails raises like a read that fails."""
        ...

    def target(self, link: str) -> str:
        """Where a symbolic link leads, as a path relative to the root with no `..` left in it."""
        ...

    def ask(self, question: str) -> bytes:
        """The answer to a question that no file answers."""
        ...
