"""Bytes that are meant as text and do not say in which encoding."""

from __future__ import annotations


def decode_text(raw: bytes) -> str:
    """The text: UTF-8, else Latin-1, which maps every byte (common practice)."""
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError:
        return raw.decode("latin-1")
