"""What a report says that tells this unit from every other, made comparable.

Only what is in the unit counts: a device that is plugged in, or of which nobody can say where it
is, belongs to the bench as well as to the customer. Blank fields, filler and addresses that were
never programmed are no identities: they are alike in many units.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final, cast
from unicodedata import normalize

from closeout.decode.filler import State, classify
from closeout.decode.mac import MacForm, describe_mac
from closeout.kernel.secrecy import TOKEN_FORM
from closeout.report.fields import Fields, as_fields

LONGEST: Final = 200
"""Characters; what is longer is no serial, and an index of the database does not take it."""
TEXTS: Final = (
    ("serial", "system", "serial", "System/Serial Number"),
    ("uuid", "system", "uuid", "System/UUID"),
    ("board", "board", "serial", "Base Board/Serial Number"),
    ("drive", "drive", "serial", "Drive/Serial Number"),
)
"""Kind of identity, kind of device, attribute, and the field that says what filler is in it."""
RADIOS: Final = ("wifi", "bluetooth", "wired_network")
PACK: Final = ("manufacturer", "model", "serial")
PACK_FIELD: Final = "Portable Battery/Serial Number"


def normalise(text: str) -> str:
    """The one spelling of a serial: composed (NFC), without space around it, in capitals."""
    return normalize("NFC", text).strip().upper()


def read_identities(inventory: Fields) -> Iterator[tuple[str, str]]:
    """Kind and value of each, once; ReportError where the inventory is none."""
    seen: set[tuple[str, str]] = set()
    for found in _all_of(inventory):
        if found[1] and len(found[1]) <= LONGEST and found not in seen:
            seen.add(found)
            yield found


def board_of(identities: tuple[tuple[str, str], ...]) -> str:
    """The system board: its serial and the UUID it was given, as far as they are known."""
    known = dict(reversed(identities))
    return "/".join(known[kind] for kind in ("board", "uuid") if kind in known)


def _all_of(inventory: Fields) -> Iterator[tuple[str, str]]:
    for kind, section, attribute, field in TEXTS:
        for device in _devices(inventory, section):
            yield kind, _text(device, attribute, field)
    for section in RADIOS:
        for device in _devices(inventory, section):
            yield "mac", _address(device)
    for device in _devices(inventory, "licence"):
        yield "licence", _token(device)
    for device in _devices(inventory, "battery"):
        yield "pack", _pack(device)


def _devices(inventory: Fields, section: str) -> Iterator[Mapping[str, object]]:
    """The attributes of the devices of a class that are inside the unit."""
    if section not in inventory.content:
        return
    for device in inventory.fields(section).each("devices"):
        if device.text("position") == "internal":
            yield device.fields("attributes").content


def _value(attributes: Mapping[str, object], name: str) -> object:
    """What the machine answered; None in every other state."""
    reading = attributes.get(name)
    if reading is None:
        return None
    content = as_fields(reading, name).content
    return content.get("value") if content.get("state") == "value" else None


def _text(attributes: Mapping[str, object], name: str, field: str) -> str:
    """The value in its one spelling; empty where it is none, or filler by what is known today."""
    value = _value(attributes, name)
    if not isinstance(value, str) or classify(field, value).state is not State.VALUE:
        return ""
    return normalise(value)


def _address(attributes: Mapping[str, object]) -> str:
    value = _value(attributes, "mac")
    is_own = isinstance(value, str) and describe_mac(value) is MacForm.UNIVERSAL
    return normalise(cast("str", value)).replace("-", ":") if is_own else ""


def _token(attributes: Mapping[str, object]) -> str:
    """The depot's token; without a secret there are five characters, which are no identity."""
    value = _value(attributes, "key_token")
    return value if isinstance(value, str) and value.startswith(TOKEN_FORM) else ""


def _pack(attributes: Mapping[str, object]) -> str:
    """Maker, model and serial: the serials of packs are short, and count anew for each model."""
    if not (serial := _text(attributes, "serial", PACK_FIELD)):
        return ""
    named = (_value(attributes, name) for name in PACK[:2])
    return "/".join([*(normalise(text) for text in named if isinstance(text, str)), serial])
