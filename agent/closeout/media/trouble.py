"""What keeps an image from being built or read, said in lines that name what to do."""

from __future__ import annotations


class MediaError(Exception):
    """Each of the `lines` says one thing that is wrong or missing."""

    def __init__(self, *lines: str) -> None:
        super().__init__("\n".join(lines))
        self.lines = lines
