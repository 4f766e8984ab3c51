"""Tells a value from a blank field and from factory filler."""

from __future__ import annotations

from collections.abc import Callable
from enum import Enum
from functools import lru_cache
from typing import Final

from closeout.decode import filler_reference as reference
from closeout.decode import filler_shapes as shapes
from closeout.decode import filler_uuid as uuids
from closeout.decode import filler_words as words
from closeout.decode.filler_text import FieldText, prepare
from closeout.model.frozen import frozen


class State(Enum):
    """What the text of a field is."""

    VALUE = "value"
    BLANK = "blank"
    FILLER = "filler"


@frozen
class Classification:
    """The state of a field's text, and in words why."""

    state: State
    reason: str


@frozen
class Rule:
    """One reason to call a text filler."""

    holds: Callable[[FieldText], bool]
    reason: str


RULES: Final = (
    Rule(holds=shapes.is_punctuation, reason="punctuation only"),
    Rule(holds=uuids.is_uniform_uuid, reason="a default UUID: few different bytes"),
    Rule(holds=uuids.is_doubled_uuid, reason="a default UUID: doubled digits only"),
    Rule(holds=uuids.is_small_uuid, reason="a default UUID: small numbers only"),
    Rule(holds=uuids.is_counting_uuid, reason="a default UUID: it counts"),
    Rule(holds=uuids.is_empty_tag_uuid, reason="a default UUID: made from an empty service tag"),
    Rule(holds=shapes.is_macro, reason="a variable that the firmware build never replaced"),
    Rule(holds=words.is_to_be_filled, reason="says that the maker is to fill it in"),
    Rule(holds=words.is_placeholder_phrase, reason="a placeholder phrase"),
    Rule(holds=words.is_short_mark, reason="short for a value to come or a field's name"),
    Rule(holds=words.says_nothing, reason="a word for no value"),
    Rule(holds=words.says_not, reason="says that there is none"),
    Rule(holds=words.is_spaces_described, reason="names spaces instead of a value"),
    Rule(holds=words.is_oem, reason="OEM in place of a name"),
    Rule(holds=words.is_template_name, reason="the name of a field instead of its value"),
    Rule(holds=words.is_numbered_by_type, reason="named by the structure that holds it"),
    Rule(holds=words.ends_with_field_name, reason="ends with the field's own name"),
    Rule(holds=words.is_thing_as_serial, reason="names the thing, not its number"),
    Rule(holds=words.is_cut_phrase, reason="a placeholder cut short"),
    Rule(holds=shapes.is_zero_date, reason="a date that is none"),
    Rule(holds=shapes.is_version_template, reason="a version with its digits left open"),
    Rule(holds=shapes.is_mask, reason="places held by X"),
    Rule(holds=shapes.is_repeat, reason="one character repeated"),
    Rule(holds=shapes.is_pattern, reason="a few characters repeated"),
    Rule(holds=shapes.is_run, reason="counting characters"),
    Rule(holds=shapes.is_run_behind_letters, reason="counting digits behind a prefix"),
    Rule(holds=shapes.is_short_serial, reason="too short for a serial number"),
    Rule(holds=reference.is_reference_value, reason="a value that reference firmware ships"),
    Rule(holds=reference.is_virtual_battery, reason="the battery of a firmware simulation"),
    Rule(holds=reference.is_reference_board, reason="the name of a reference board"),
)


@lru_cache(maxsize=512)
def classify(field: str, text: str) -> Classification:
    """Whether a field's text is a value, blank or filler, and why.

    `field` is `Structure/Field` as dmidecode prints it: `System/Serial Number`. Kept, since each
    field is read from the table and from sysfs, and units of one model have most in common.
    """
    prepared = prepare(field, text)
    if not prepared.trimmed:
        return Classification(state=State.BLANK, reason="no text, or only spaces, tabs and NULs")
    if uuids.is_blank_uuid(prepared):
        return Classification(state=State.BLANK, reason="a UUID of all 00 or all FF is not set")
    for rule in RULES:
        if rule.holds(prepared):
            return Classification(state=State.FILLER, reason=rule.reason)
    return Classification(state=State.VALUE, reason="")
