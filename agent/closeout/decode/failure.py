"""The one error of every decoder."""

from __future__ import annotations


class DecodeError(Exception):
    """`what` was being decoded, at which byte `offset`, and what is wrong there."""

    def __init__(self, what: str, offset: int, message: str) -> None:
        super().__init__(f"{what} at byte {offset}: {message}")
        self.what = what
        self.offset = offset
        self.message = message
