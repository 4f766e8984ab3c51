"""Which lines of the kernel's log tell of trouble, and which are known to mean nothing."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class LogRule:
    """Lines in which the pattern is found (Python's `re`), and what they mean to people."""

    pattern: str
    meaning: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LogRules:
    """What is harmless is known one line at a time, and counts before what is trouble."""

    harmless: tuple[LogRule, ...] = ()
    trouble: tuple[LogRule, ...] = ()
