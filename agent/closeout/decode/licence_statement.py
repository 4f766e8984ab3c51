"""What is kept instead of the licence key table: what was read of it, and a token for the key.

The statement is JSON in one line, sorted and without spaces:
`{"closeout_statement":"licence-table","table":{...}}`, or `"fault"` instead of `"table"` for
bytes that are no such table. It holds no byte of a malformed key, and of a well-formed one only
what the caller's token gives away.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from typing import Final, NoReturn, TypeAlias, cast

from closeout.decode.failure import DecodeError
from closeout.decode.msdm import KeyFormat, MsdmTable, decode_msdm
from closeout.model.frozen import content_of, frozen

WHAT: Final = "licence statement"
MARK: Final = "closeout_statement"
SUBJECT: Final = "licence-table"
LONGEST: Final = 4096


@frozen
class StatedTable:
    """What was read of a table.

    `key_format` is a value of `KeyFormat`; `key_token` is empty unless the key is well formed.
    The OEM ids are empty where the layout has faults, for a table that slipped may hold
    anything there.
    """

    length: int
    bytes_read: int
    revision: int
    checksum_good: bool
    oem_id: str
    oem_table_id: str
    layout_faults: tuple[str, ...]
    key_format: str
    key_token: str


@frozen
class StatedFault:
    """Why the bytes are no licence key table, at which byte, and how many there were."""

    bytes_read: int
    offset: int
    message: str


LicenceStatement: TypeAlias = StatedTable | StatedFault


def state_licence(raw: bytes, token_for: Callable[[bytes], str]) -> bytes:
    """The statement for any bytes; `token_for` is asked only about a well-formed key.

    `token_for` gets the 29 characters with their dashes and answers what may be kept of them.
    """
    try:
        table = decode_msdm(raw)
    except DecodeError as failure:
        return _encode(
            StatedFault(bytes_read=len(raw), offset=failure.offset, message=failure.message)
        )
    return _encode(_state_table(table, token_for))


def _state_table(table: MsdmTable, token_for: Callable[[bytes], str]) -> StatedTable:
    header = table.header
    sound = not table.layout_faults
    keeps_token = table.key_format is KeyFormat.WELL_FORMED
    return StatedTable(
        length=header.length,
        bytes_read=header.given,
        revision=header.revision,
        checksum_good=header.checksum_good,
        oem_id=header.oem_id if sound else "",
        oem_table_id=header.oem_table_id if sound else "",
        layout_faults=table.layout_faults,
        key_format=table.key_format.value,
        key_token=token_for(table.key) if keeps_token else "",
    )


def _encode(statement: LicenceStatement) -> bytes:
    content = "table" if isinstance(statement, StatedTable) else "fault"
    document = {MARK: SUBJECT, content: content_of(statement)}
    return json.dumps(document, sort_keys=True, separators=(",", ":")).encode("ascii")


def decode_statement(statement: bytes) -> LicenceStatement:
    """What a statement says.

    Raises:
        DecodeError: anything that `state_licence` did not write, a raw table among it.
    """
    document = _parse(statement)
    decoded: LicenceStatement
    if "table" in document:
        decoded = _decode_table(_mapping(document["table"]))
    else:
        decoded = _decode_fault(_mapping(document.get("fault")))
    if _encode(decoded) != statement:
        _refuse("not in the form in which statements are written")
    return decoded


def _parse(statement: bytes) -> Mapping[str, object]:
    if len(statement) > LONGEST:
        raise DecodeError(WHAT, LONGEST, f"longer than {LONGEST} bytes")
    try:
        document: object = json.loads(statement)
    except (ValueError, RecursionError):
        _refuse("not JSON")
    return _mapping(document)


def _decode_table(entries: Mapping[str, object]) -> StatedTable:
    faults = entries.get("layout_faults")
    if not isinstance(faults, list):
        _refuse("'layout_faults' is not a list")
    return StatedTable(
        length=_number(entries, "length"),
        bytes_read=_number(entries, "bytes_read"),
        revision=_number(entries, "revision"),
        checksum_good=_flag(entries, "checksum_good"),
        oem_id=_text(entries, "oem_id"),
        oem_table_id=_text(entries, "oem_table_id"),
        layout_faults=tuple(str(fault) for fault in cast("list[object]", faults)),
        key_format=_key_format(entries),
        key_token=_text(entries, "key_token"),
    )


def _decode_fault(entries: Mapping[str, object]) -> StatedFault:
    return StatedFault(
        bytes_read=_number(entries, "bytes_read"),
        offset=_number(entries, "offset"),
        message=_text(entries, "message"),
    )


def _key_format(entries: Mapping[str, object]) -> str:
    word = _text(entries, "key_format")
    if word not in {known.value for known in KeyFormat}:
        _refuse("'key_format' is no format of a key")
    return word


def _mapping(found: object) -> Mapping[str, object]:
    if not isinstance(found, dict):
        _refuse("an object was expected")
    return cast("Mapping[str, object]", found)


def _number(entries: Mapping[str, object], name: str) -> int:
    found = entries.get(name)
    if not isinstance(found, int) or isinstance(found, bool):
        _refuse(f"{name!r} is not a whole number")
    return found


def _flag(entries: Mapping[str, object], name: str) -> bool:
    found = entries.get(name)
    if not isinstance(found, bool):
        _refuse(f"{name!r} is not true or false")
    return found


def _text(entries: Mapping[str, object], name: str) -> str:
    found = entries.get(name)
    if not isinstance(found, str):
        _refuse(f"{name!r} is not a text")
    return found


def _refuse(message: str) -> NoReturn:
    raise DecodeError(WHAT, 0, message)
