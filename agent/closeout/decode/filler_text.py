"""One field text in the forms that the filler rules look at."""

from __future__ import annotations

from enum import Enum
from functools import cached_property
from typing import Final

from closeout.model.late_pattern import late_pattern

PADDING: Final = " \t\0"
LONGEST: Final = 512
"""Characters that are looked at; a string of SMBIOS rarely has more than 64."""


class Kind(Enum):
    """What a field is for, which decides what would be odd in it."""

    SERIAL = "serial"
    PACK_SERIAL = "pack serial"
    TAG = "asset tag"
    UUID = "uuid"
    FIRMWARE = "firmware version"
    VERSION = "version"
    DATE = "date"
    MAKER = "maker"
    PART = "part number"
    SKU = "sku"
    PLACE = "place"
    NAME = "name"


KIND_BY_WORD: Final = (
    ("uuid", Kind.UUID),
    ("serial", Kind.SERIAL),
    ("asset", Kind.TAG),
    ("date", Kind.DATE),
    ("sku", Kind.SKU),
    ("part number", Kind.PART),
    ("version", Kind.VERSION),
    ("revision", Kind.VERSION),
    ("manufacturer", Kind.MAKER),
    ("vendor", Kind.MAKER),
    ("locat", Kind.PLACE),
    ("designation", Kind.PLACE),
    ("slot", Kind.PLACE),
)
"""The first word found in the field's name decides; none of them makes it a name."""

REGION: Final = late_pattern(r"#\w{0,3}\W{0,8}$")
CODE_PREFIX: Final = late_pattern(r"^(?:jedec id: *|0x)")


def kind_of(field: str) -> Kind:
    """The kind of a field by its name `Structure/Field`; an unknown one counts as a name."""
    structure, _, name = field.casefold().rpartition("/")
    kind = next((kind for word, kind in KIND_BY_WORD if word in name), Kind.NAME)
    if kind is Kind.SERIAL and "battery" in structure:
        return Kind.PACK_SERIAL
    if kind is Kind.VERSION and structure == "bios":
        return Kind.FIRMWARE
    return kind


SERIALS: Final = frozenset({Kind.SERIAL, Kind.PACK_SERIAL})
VERSIONS: Final = frozenset({Kind.FIRMWARE, Kind.VERSION})


class FieldText:
    """The text of a field without its padding, lower case, and the field's kind."""

    def __init__(self, kind: Kind, structure: str, trimmed: str) -> None:
        self.kind = kind
        self.structure = structure
        self.trimmed = trimmed

    @cached_property
    def squeezed(self) -> str:
        """Letters and digits alone."""
        return "".join(letter for letter in self.trimmed if letter.isalnum())

    @cached_property
    def letters(self) -> str:
        """Letters alone."""
        return "".join(letter for letter in self.trimmed if letter.isalpha())

    @cached_property
    def core(self) -> str:
        """Letters and digits without what is added to them: `0x` in front, `#ABA` behind."""
        text = CODE_PREFIX.sub("", REGION.sub("", self.trimmed))
        return "".join(letter for letter in text if letter.isalnum())

    @cached_property
    def chunks(self) -> tuple[str, ...]:
        """The pieces between blanks and punctuation."""
        spaced = (letter if letter.isalnum() else " " for letter in self.trimmed)
        return tuple("".join(spaced).split())


def prepare(field: str, text: str) -> FieldText:
    """The text of a field, ready for the rules; at most `LONGEST` characters of it."""
    trimmed = text.strip(PADDING)[:LONGEST].casefold()
    structure = field.casefold().partition("/")[0]
    return FieldText(kind=kind_of(field), structure=structure, trimmed=trimmed)
