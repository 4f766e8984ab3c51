"""Radios: Wi-Fi and Bluetooth; each kind has its own file."""

from __future__ import annotations

from typing import Final

from closeout.readers import bluetooth, wifi

READERS: Final = (*wifi.READERS, *bluetooth.READERS)
