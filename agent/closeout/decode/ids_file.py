"""Names of PCI and USB devices out of the system's `pci.ids` and `usb.ids`, and the question.

Only the two names that match leave the file: `names pci 8086:1234` is the question, and the
answer is a small JSON object with `vendor` and `device`, each only where the file lists it.
"""

from __future__ import annotations

import json
from typing import Final, cast

from closeout.decode.failure import DecodeError
from closeout.model.frozen import frozen
from closeout.model.late_pattern import late_pattern

QUESTION: Final = late_pattern(r"names (pci|usb) ([0-9a-f]{4}):([0-9a-f]{4})")
NEXT_OWNER: Final = late_pattern(rb"\n[^\t#\n]")
"""A line that ends the lines of a vendor: another vendor, or another section."""


@frozen
class NamesQuestion:
    """Which names are asked for: `bus` is `pci` or `usb`, the ids have four lower-case digits."""

    bus: str
    vendor: str
    device: str


@frozen
class Names:
    """The names that the file lists; None where it lists none."""

    vendor: str | None
    device: str | None


def names_question(bus: str, ids: str) -> str:
    """The question for the names of `vendor:device` on a bus."""
    return f"names {bus} {ids}"


def parse_names_question(question: str) -> NamesQuestion | None:
    """What a question asks; None where it is another question."""
    found = QUESTION.fullmatch(question)
    if found is None:
        return None
    return NamesQuestion(bus=found.group(1), vendor=found.group(2), device=found.group(3))


def match_ids(content: bytes, vendor: str, device: str) -> Names:
    """The names that an ids file gives; any bytes give an answer.

    Format, as the head of each file explains it: a vendor line has its id at the start, the
    lines of its devices follow with one tab before the id, two spaces part id and name.
    """
    head = vendor.lower().encode() + b"  "
    start = 0 if content.startswith(head) else content.find(b"\n" + head) + 1
    if not content.startswith(head, start):
        return Names(vendor=None, device=None)
    name_end = _line_end(content, start)
    name = _text(content[start + len(head) : name_end])
    owner = NEXT_OWNER.search(content, name_end)
    wanted = b"\n\t" + device.lower().encode() + b"  "
    found = content.find(wanted, name_end, owner.start() if owner else len(content))
    if found < 0:
        return Names(vendor=name, device=None)
    line = content[found + len(wanted) : _line_end(content, found + 1)]
    return Names(vendor=name, device=_text(line))


def _line_end(content: bytes, start: int) -> int:
    """Where the line that begins at `start` ends; it is found without copying the rest."""
    newline = content.find(b"\n", start)
    return newline if newline >= 0 else len(content)


def _text(raw: bytes) -> str:
    return raw.decode("utf-8", "replace").strip()


def encode_names(names: Names) -> bytes:
    """The answer to a question for names; a name that is not listed is left out."""
    listed = {"vendor": names.vendor, "device": names.device}
    kept = {key: name for key, name in listed.items() if name is not None}
    return json.dumps(kept, sort_keys=True, ensure_ascii=False).encode()


def decode_names(raw: bytes) -> Names:
    """The names in an answer; raises DecodeError where it is no such object."""
    try:
        found: object = json.loads(raw.decode("utf-8"))
    except UnicodeDecodeError as error:
        raise DecodeError("names", error.start, "no UTF-8 text") from error
    except json.JSONDecodeError as error:
        raise DecodeError("names", error.pos, error.msg) from error
    except ValueError as error:
        raise DecodeError("names", 0, "a number is too long") from error
    except RecursionError as error:
        raise DecodeError("names", 0, "nested too deep") from error
    if not isinstance(found, dict):
        raise DecodeError("names", 0, "an object was expected")
    members = cast("dict[str, object]", found)
    return Names(vendor=_member(members, "vendor"), device=_member(members, "device"))


def _member(members: dict[str, object], key: str) -> str | None:
    name = members.get(key)
    if name is not None and not isinstance(name, str):
        raise DecodeError("names", 0, f"text was expected for {key}")
    return name
