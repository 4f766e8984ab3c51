"""What the volume that desktops show is called, and its folders."""

from __future__ import annotations

from typing import Final

LABEL: Final = "CLOSEOUT"
AGENT: Final = "agent"
ORDERS: Final = "orders"
PAPER: Final = "paper"
PROFILES: Final = "profiles"
REPORTS: Final = "reports"
LEAD: Final = "lead"
LEAD_FILE: Final = "lead.toml"
STATION: Final = "station"
CONTENTS: Final = "contents.json"
"""The list of what a root is made of, in the root beside the agent."""
FOLDERS: Final = (AGENT, ORDERS, PROFILES, LEAD, REPORTS, STATION)
