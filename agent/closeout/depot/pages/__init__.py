"""What was found out about a fleet, for people and programs: console, page, JSON, CSV."""

from __future__ import annotations
