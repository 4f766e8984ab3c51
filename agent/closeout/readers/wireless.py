"""Networks and radios; each kind has its own file."""

from typing import Final

from closeout.readers import addresses, bluetooth, regulatory, wifi, wired_network, wwan

READERS: Final = (
    *wifi.READERS,
    *bluetooth.READERS,
    *wwan.READERS,
    *wired_network.READERS,
    *addresses.READERS,
    *regulatory.READERS,
)
