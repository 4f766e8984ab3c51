"""The steps. What a step did is never changed afterwards: ledgers were made by it."""

from __future__ import annotations
