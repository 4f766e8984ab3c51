"""Shares, tests and beliefs about a fleet: numbers in, numbers out."""

from __future__ import annotations
