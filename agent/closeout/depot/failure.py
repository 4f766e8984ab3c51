"""The errors of a ledger: one that cannot be used, and one report that is not taken into it."""

from __future__ import annotations


class LedgerError(Exception):
    """The ledger cannot be used as it was asked, and why, in one line."""


class RefusalError(Exception):
    """A report is not taken into the ledger; the text is the reason, in one line."""
