"""Many reports: kept, indexed, and asked what repeats and what collides."""

from __future__ import annotations
