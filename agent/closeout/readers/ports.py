"""Sockets and what joins them; each kind has its own file."""

from __future__ import annotations

from typing import Final

from closeout.readers import thunderbolt, type_c_ports, usb_ports

READERS: Final = (*type_c_ports.READERS, *usb_ports.READERS, *thunderbolt.READERS)
