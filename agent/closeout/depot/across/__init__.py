"""Units, stations, profiles and parts held against one another: counts in, alarms out."""

from __future__ import annotations
