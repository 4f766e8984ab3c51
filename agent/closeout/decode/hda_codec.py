"""An HD Audio codec out of the text in which the kernel shows it, `proc/asound/cardN/codec#N`.

Format: the kernel's sound/pci/hda/hda_proc.c (Documentation/sound/hd-audio/notes.rst, "Proc
Codec"); the values of the pins are decoded by `hda_pin`, not the words beside them.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise
from typing import Final

from closeout.decode.failure import DecodeError
from closeout.decode.hda_pin import HdaPin, decode_pin
from closeout.model.frozen import frozen
from closeout.model.late_pattern import late_pattern

WHAT: Final = "HD Audio codec"
LINE: Final = late_pattern(r"^([A-Z][A-Za-z ]*): *(.*)$", re.MULTILINE)
NODE: Final = late_pattern(r"^Node 0x[0-9a-f]+ \[", re.MULTILINE)
CAPABILITIES: Final = late_pattern(r"^  Pincap 0x([0-9a-f]{1,16})", re.MULTILINE)
DEFAULT: Final = late_pattern(r"^  Pin Default 0x([0-9a-f]{1,16})", re.MULTILINE)
NUMBER: Final = late_pattern(r"0x([0-9a-f]{1,8})")
HALF: Final = 4


@frozen
class HdaCodec:
    """Name and ids of a codec (eight digits, the vendor's first), and its pins."""

    name: str
    vendor_id: str
    subsystem_id: str
    revision_id: str
    pins: tuple[HdaPin, ...]


def decode_codec(raw: bytes) -> HdaCodec:
    """The codec; raises DecodeError where the text does not begin like one."""
    text = raw.decode("utf-8", "replace")
    nodes = [found.start() for found in NODE.finditer(text)]
    head = dict(_lines(text[: nodes[0]] if nodes else text))
    if "Codec" not in head:
        raise DecodeError(WHAT, 0, "no line names the codec")
    pins = (_pin(text[start:end], start) for start, end in pairwise([*nodes, len(text)]))
    return HdaCodec(
        name=head["Codec"].strip(),
        vendor_id=_number(head, "Vendor Id"),
        subsystem_id=_number(head, "Subsystem Id"),
        revision_id=_number(head, "Revision Id"),
        pins=tuple(pin for pin in pins if pin is not None),
    )


def split_id(digits: str) -> str:
    """`10ec:0256` of the eight digits `10ec0256`."""
    return f"{digits[:HALF]}:{digits[HALF:]}"


def _lines(text: str) -> Iterator[tuple[str, str]]:
    """Name and value of each line before the first node."""
    for line in LINE.finditer(text):
        yield line[1], line[2]


def _number(head: dict[str, str], name: str) -> str:
    found = NUMBER.fullmatch(head.get(name, "").strip())
    if found is None:
        raise DecodeError(WHAT, 0, f"{name} is no number: {head.get(name, 'not there')!r:.40}")
    return found[1].zfill(8)


def _pin(node: str, start: int) -> HdaPin | None:
    """The pin of a node; None for a node of another sort."""
    default = DEFAULT.search(node)
    if default is None:
        return None
    capabilities = CAPABILITIES.search(node)
    try:
        return decode_pin(int(default[1], 16), int(capabilities[1], 16) if capabilities else 0)
    except DecodeError as error:
        raise DecodeError(WHAT, start, error.message) from None
