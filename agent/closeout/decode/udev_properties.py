"""Device properties out of udev's runtime database, the files of `run/udev/data`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from closeout.decode.uevent import decode_uevent
from closeout.model.late_pattern import late_pattern

PROPERTY: Final = b"E:"
ESCAPED: Final = late_pattern(r"\\x([0-9a-fA-F]{2})")


def decode_udev_properties(raw: bytes) -> Mapping[str, str]:
    """The properties (`E:` lines) of one device; links, tags and times are left out.

    Total: any bytes give a mapping. Format: systemd, src/libsystemd/sd-device/device-private.c,
    one record a line, its kind before the first colon.
    """
    lines = (line.removeprefix(PROPERTY) for line in raw.split(b"\n") if line.startswith(PROPERTY))
    return decode_uevent(b"\n".join(lines))


def unescape(text: str) -> str:
    r"""The text of an `ID_..._ENC` property as the device gave it: `\x20` is a space again.

    udev escapes each byte apart (encode_devnode_name), so the bytes are put together first.
    """
    characters = ESCAPED.sub(lambda found: chr(int(found.group(1), 16)), text)
    try:
        return characters.encode("latin-1").decode("utf-8")
    except (UnicodeEncodeError, UnicodeDecodeError):
        return characters


def find_property(properties: Mapping[str, str], name: str) -> str | None:
    """A property without padding, its escaped form first; None where there is none.

    The plain form has underscores for spaces, which a work order does not have.
    """
    escaped = properties.get(f"{name}_ENC", "")
    plain = properties.get(name, "")
    return unescape(escaped).strip() or plain.strip() or None
