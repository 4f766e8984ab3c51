"""Networks but Wi-Fi, and what holds for all of them; each kind has its own file."""

from __future__ import annotations

from typing import Final

from closeout.readers import addresses, regulatory, wired_network, wwan

READERS: Final = (
    *wwan.READERS,
    *wired_network.READERS,
    *addresses.READERS,
    *regulatory.READERS,
)
