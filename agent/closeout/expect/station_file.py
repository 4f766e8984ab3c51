"""The public record of a station, version 1, as a file.

station = 1
code = "B-07"
key = "11qYAycIGVY..."       # Ed25519, public
first_day = "2026-11-29"
last_day = "2027-11-29"

[revoked]                    # once its key proves nothing any more
on = "2027-02-01"
reason = "stick lost"
"""

from __future__ import annotations

import binascii
from typing import Final

from closeout.decode.calendar import days_since_1970
from closeout.expect.document import is_table, read_document
from closeout.expect.file_head import is_format
from closeout.expect.mistake import KeyPath, Mistakes, quote
from closeout.expect.proofreader import Proofreader
from closeout.expect.scalar import Table
from closeout.model.station import Revocation, Station

STATION_FORMAT: Final = 1
STATION_KEYS: Final = ("station", "code", "key", "first_day", "last_day", "revoked")
REVOCATION_KEYS: Final = ("on", "reason")
CODE_PATTERN: Final = r"[A-Za-z0-9][A-Za-z0-9._-]{0,39}"
CODE_RULE: Final = "letters, digits, dot, line and hyphen, at most 40"
KEY_BYTES: Final = 32
KEY_PATTERN: Final = r"[A-Za-z0-9_-]{43}"
KEY_RULE: Final = "the 43 characters that `closeout station init` wrote"
FIELD: Final = 2**255 - 19
SIGN: Final = 1 << 255
TORSION: Final = 0x7A03AC9277FDC74EC6CC392CFA53202A0F67100D760B3CBA4FD84D3D706A17C7
SMALL_ORDERS: Final = frozenset({0, 1, FIELD - 1, TORSION, FIELD - TORSION})
"""The y of the eight points of Ed25519 whose order divides eight (RFC 8032, 5.1: cofactor 8)."""
DAY_PATTERN: Final = r"[0-9]{4}-[0-9]{2}-[0-9]{2}"
DAY_RULE: Final = "a day as 2026-11-29"


def parse_station(name: str, raw: bytes) -> Station | Mistakes:
    """The station in a file's bytes, or every mistake in it."""
    document = read_document(name, raw)
    if isinstance(document, Mistakes):
        return document
    tree = document.tree
    proof = Proofreader(document)
    if not is_format(proof, tree, "station", STATION_FORMAT):
        return proof.mistakes() or Mistakes(found=())
    proof.known_keys((), tree, STATION_KEYS)
    proof.required((), tree, "code", "key", "first_day", "last_day")
    station = Station(
        code=_read(proof, tree, "code", CODE_PATTERN, CODE_RULE),
        key=_read_key(proof, tree),
        first_day=_read_day(proof, (), tree, "first_day"),
        last_day=_read_day(proof, (), tree, "last_day"),
        revoked=_read_revocation(proof, tree),
    )
    if "" < station.last_day < station.first_day:
        proof.note(("last_day",), f"before first_day, {station.first_day}")
    return proof.mistakes() or station


def write_station(station: Station) -> str:
    """The file of a station."""
    lines = [
        f"station = {STATION_FORMAT}",
        f'code = "{station.code}"',
        f'key = "{station.key}"',
        f'first_day = "{station.first_day}"',
        f'last_day = "{station.last_day}"',
    ]
    if station.revoked:
        reason = station.revoked.reason.replace("\\", "\\\\").replace('"', '\\"')
        lines += ["", "[revoked]", f'on = "{station.revoked.on}"', f'reason = "{reason}"']
    return "".join(f"{line}\n" for line in lines)


def is_day(text: str) -> bool:
    """Whether it is a day of the calendar, as ISO 8601 writes it."""
    parts = text.split("-")
    if tuple(map(len, parts)) != (4, 2, 2) or not "".join(parts).isdecimal():
        return False
    year, month, day = map(int, parts)
    return text.isascii() and days_since_1970(year, month, day) is not None


def _read(proof: Proofreader, tree: Table, key: str, pattern: str, rule: str) -> str:
    return (proof.matching((key,), tree[key], pattern, rule) or "") if key in tree else ""


def _read_key(proof: Proofreader, tree: Table) -> str:
    text = _read(proof, tree, "key", KEY_PATTERN, KEY_RULE)
    if text and not _is_whole(text):
        proof.note(("key",), f"not {KEY_BYTES} bytes; allowed: {KEY_RULE}")
    elif text and _is_of_small_order(text):
        proof.note(("key",), "a key that anybody can seal with; allowed: one of `station init`")
    return text


def _is_of_small_order(text: str) -> bool:
    """Whether eight times this point is nothing: then a signature needs no private key.

    RFC 8032 lets them pass; whoever gave such a record could say that anybody sealed it.
    """
    number = int.from_bytes(_bytes_of(text), "little") & ~SIGN
    return number % FIELD in SMALL_ORDERS


def _bytes_of(text: str) -> bytes:
    plain = text.replace("-", "+").replace("_", "/")
    return binascii.a2b_base64(f"{plain}=")


def _is_whole(text: str) -> bool:
    """Whether it is what 32 bytes come to, and nothing else: of the last two bits none is used."""
    plain = text.replace("-", "+").replace("_", "/")
    raw = _bytes_of(text)
    again = binascii.b2a_base64(raw, newline=False).decode().rstrip("=")
    return len(raw) == KEY_BYTES and again == plain


def _read_day(proof: Proofreader, path: KeyPath, table: Table, key: str) -> str:
    if key not in table:
        return ""
    text = proof.matching((*path, key), table[key], DAY_PATTERN, DAY_RULE)
    if text is None:
        return ""
    if not is_day(text):
        proof.note((*path, key), f"the calendar has no {quote(text)}")
    return text


def _read_revocation(proof: Proofreader, tree: Table) -> Revocation | None:
    if "revoked" not in tree:
        return None
    path: KeyPath = ("revoked",)
    table = proof.table(path, tree["revoked"])
    if not is_table(tree["revoked"]):
        return None
    proof.known_keys(path, table, REVOCATION_KEYS)
    proof.required(path, table, *REVOCATION_KEYS)
    reason = proof.text((*path, "reason"), table["reason"]) if "reason" in table else None
    return Revocation(on=_read_day(proof, path, table, "on"), reason=reason or "")
