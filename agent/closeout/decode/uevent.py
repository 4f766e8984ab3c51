"""Properties that the kernel writes as `KEY=VALUE` lines in a `uevent` file, and what they name."""

from __future__ import annotations

from collections.abc import Mapping

from closeout.decode.numerals import parse_hexadecimal


def decode_uevent(raw: bytes) -> Mapping[str, str]:
    """The properties by key; lines without `=` are no properties, and the last of a key counts.

    Total: any bytes give a mapping; what is not UTF-8 becomes the replacement character.
    """
    pairs = (line.partition("=") for line in raw.decode("utf-8", "replace").split("\n"))
    return {key: value for key, mark, value in pairs if mark and key}


def find_bus_id(properties: Mapping[str, str]) -> str | None:
    """`vendor:device`, four lower-case hexadecimal digits each; None where no bus names any.

    PCI writes `PCI_ID=8086:2723`, SDIO `SDIO_ID=02D0:A9A6`, and USB unpadded numbers with the
    release behind them, `PRODUCT=8087/29/1` (kernel functions pci_uevent, sdio_bus_uevent and
    usb_uevent).
    """
    for key, mark in (("PCI_ID", ":"), ("SDIO_ID", ":"), ("PRODUCT", "/")):
        parts = properties.get(key, "").split(mark)
        numbers = [parse_hexadecimal(part.zfill(4), 4) for part in parts[:2] if part]
        if len(numbers) == 2 and None not in numbers:
            return f"{numbers[0]}:{numbers[1]}"
    return None
