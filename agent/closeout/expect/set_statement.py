"""What a lead signs: the version of a profile set, the day, and each file of it by its digest.

{"files": {"northlake/fen": "82e0..."}, "on": "2026-11-29", "profile_set": 1, "version": "2026.2"}
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from functools import reduce
from typing import Final

from closeout.decode.version_order import Order, compare_versions
from closeout.expect.document import is_table
from closeout.expect.station_file import is_day
from closeout.model.frozen import frozen
from closeout.model.profile_signature import ProfileSignature, SignatureState
from closeout.model.report import SourceFile

STATEMENT_FORMAT: Final = 1
KEYS: Final = {"files", "on", "profile_set", "version"}
DIGEST: Final = re.compile("[0-9a-f]{64}")
LONGEST_NAME: Final = 200
NO_STATEMENT: Final = "no set of profiles that the lead signed is here"


@frozen
class SetStatement:
    """One signed set: `files` has the SHA-256 of each profile's file by its id."""

    version: str
    on: str
    files: Mapping[str, str]

    def covers(self, chain: tuple[SourceFile, ...]) -> bool:
        """Whether each of these files is one of the set, as it was signed."""
        return all(self.files.get(file.name) == file.digest for file in chain)


@frozen
class SignedSets:
    """The sets that a lead is known to have signed; `reason` is why there are none to look at."""

    lead: str = ""
    statements: tuple[SetStatement, ...] = ()
    reason: str = NO_STATEMENT


def write_statement(statement: SetStatement) -> bytes:
    """The bytes that are signed."""
    document = {
        "files": dict(statement.files),
        "on": statement.on,
        "profile_set": STATEMENT_FORMAT,
        "version": statement.version,
    }
    return json.dumps(document, sort_keys=True, separators=(",", ":")).encode("ascii")


def parse_statement(raw: bytes) -> SetStatement | None:
    """The statement in these bytes; None where they are none."""
    try:
        document: object = json.loads(raw.decode("ascii"))
    except (ValueError, RecursionError):
        return None
    if not is_table(document) or set(document) != KEYS:
        return None
    version, on, files = document["version"], document["on"], document["files"]
    if document["profile_set"] != STATEMENT_FORMAT or not _is_name(version):
        return None
    if not isinstance(on, str) or not is_day(on) or not is_table(files):
        return None
    if not files or not all(_is_file(name, digest) for name, digest in files.items()):
        return None
    known = {name: str(digest) for name, digest in files.items()}
    return SetStatement(version=str(version), on=on, files=known)


def signature_of(chain: tuple[SourceFile, ...], known: SignedSets) -> ProfileSignature:
    """What the lead's signatures say of a profile, by the files that it was made of."""
    if not known.statements:
        return ProfileSignature(state=SignatureState.UNSIGNED, lead=known.lead, reason=known.reason)
    newest = reduce(_later, known.statements)
    covering = [one for one in known.statements if one.covers(chain)]
    if not covering:
        return ProfileSignature(
            state=SignatureState.UNSIGNED, lead=known.lead, reason=_difference(chain, newest)
        )
    best = reduce(_later, covering)
    is_newest = newest.covers(chain)
    return ProfileSignature(
        state=SignatureState.SIGNED if is_newest else SignatureState.SUPERSEDED,
        lead=known.lead,
        version=best.version,
        on=best.on,
        newer="" if is_newest else newest.version,
    )


def _later(one: SetStatement, other: SetStatement) -> SetStatement:
    """The one signed later; of one day the one with the higher version."""
    if one.on != other.on:
        return max(one, other, key=lambda each: each.on)
    order = compare_versions(one.version, other.version).order
    return other if order is Order.LESS else one


def _difference(chain: tuple[SourceFile, ...], newest: SetStatement) -> str:
    odd = next(file for file in chain if newest.files.get(file.name) != file.digest)
    if odd.name in newest.files:
        return f"{odd.name} is not as the lead signed it in {newest.version}"
    return f"{odd.name} is none of the profiles that the lead signed in {newest.version}"


def _is_name(found: object) -> bool:
    return isinstance(found, str) and 0 < len(found) <= LONGEST_NAME and found.isprintable()


def _is_file(name: str, digest: object) -> bool:
    return _is_name(name) and isinstance(digest, str) and DIGEST.fullmatch(digest) is not None
