"""One report looked at before it is kept: its seal, its evidence, and what of it is indexed."""

from __future__ import annotations

import zlib
from collections.abc import Mapping
from hashlib import sha256
from typing import Final

from closeout.depot.bundle import EVIDENCE, REPORT, SEALS, Bundle, Spoiled
from closeout.depot.facts import Facts, Row, parse_report_facts, parse_unrun_facts
from closeout.depot.failure import RefusalError
from closeout.model.frozen import frozen
from closeout.model.station import Standing, Station, standing_on
from closeout.report.failure import ReportError
from closeout.report.seal import LARGEST_SEAL, Seal, State, check_seal

LEVEL: Final = 3
"""Of deflating: the next one takes twice the time for a twentieth less."""
STORED: Final = 0
GZIP: Final = 31
LARGEST_EVIDENCE: Final = 64 << 20
"""Of the unpacked lines, as whoever reads evidence has it."""
NOT_SEALED: Final = "it is not sealed, and --require-seal asks for a seal"
BY_STATE: Final = {
    State.NO_SEAL: "{file} beside it is no seal",
    State.CHANGED: "changed: these are not the bytes that station {code} sealed",
}
UNKNOWN_KEY: Final = "sealed with a key of none of the stations known here"
BY_STANDING: Final = {
    Standing.TOO_LATE: "sealed by station {code}, whose key was not valid any more on {day}",
    Standing.REVOKED: "sealed by station {code}, whose key was revoked by {day}",
    Standing.REVOKED_SINCE: (
        "sealed by station {code}, whose key is revoked: whoever has it can write any day"
    ),
}
EARLY: Final = "early"
"""Sealed, and dated before the first day of the key: a unit without power wakes years ago."""
OTHER_EVIDENCE: Final = f"{EVIDENCE} beside it is not the evidence that it names"
UNSIGNED: Final = "judged by a profile that {lead} did not sign"


@frozen
class Terms:
    """Whose seals are known, and whether a report without one is taken.

    `lead` is the code of who signs the profiles; empty where the depot has nobody who does.
    """

    stations: tuple[Station, ...] = ()
    requires_seal: bool = False
    lead: str = ""


@frozen
class Packed:
    """The bytes of one file as they are kept."""

    digest: str
    length: int
    packed: bytes


@frozen
class Taken:
    """A report that may be kept: its rows, and its files by their names."""

    digest: str
    facts: Facts
    files: Mapping[str, Packed]


def examine(bundle: Bundle, terms: Terms) -> Taken | Spoiled:
    """The report ready to be kept, or the reason why it is set aside."""
    raw = bundle.files[bundle.main]
    try:
        if bundle.main == REPORT:
            facts = _examine_report(bundle, parse_report_facts(raw, bundle.digest), terms)
        else:
            facts = parse_unrun_facts(raw, bundle.digest)
            facts.report.update(_of_seal(bundle, facts.written_on, terms))
    except ReportError as error:
        return Spoiled(place=bundle.place, reason=f"no report: {error}", digest=bundle.digest)
    except RefusalError as refusal:
        return Spoiled(place=bundle.place, reason=str(refusal), digest=bundle.digest)
    facts.report.update(digest=bundle.digest)
    files = {
        name: pack(content, name, bundle.digests[name])
        for name, content in bundle.files.items()
        if not (facts.redacted and name == EVIDENCE)  # it would undo the redaction
    }
    return Taken(digest=bundle.digest, facts=facts, files=files)


def pack(content: bytes, name: str, digest: str) -> Packed:
    """The bytes deflated (RFC 1950); what is compressed already is only wrapped."""
    level = STORED if name.endswith(".gz") else LEVEL
    return Packed(digest=digest, length=len(content), packed=zlib.compress(content, level))


def unpack(packed: bytes, digest: str) -> bytes:
    """The very bytes that were kept. Raises RefusalError where they are damaged."""
    try:
        content = zlib.decompress(packed)
    except zlib.error as error:
        raise RefusalError(f"what is kept under {digest} does not unpack: {error}") from error
    if sha256(content).hexdigest() != digest:
        raise RefusalError(f"what is kept under {digest} has another digest")
    return content


def _examine_report(bundle: Bundle, facts: Facts, terms: Terms) -> Facts:
    """The facts with what the seal says; raises RefusalError."""
    row = facts.report
    row.update(_of_seal(bundle, facts.written_on, terms))
    if terms.lead and row["profile_state"] == "unsigned":
        raise RefusalError(UNSIGNED.format(lead=terms.lead))
    evidence = bundle.files.get(EVIDENCE)
    if evidence is not None and not facts.redacted:
        _compare_evidence(evidence, str(row["evidence_digest"]))
    return facts


def _of_seal(bundle: Bundle, day: str, terms: Terms) -> Row:
    """What the index says of the seal, and of the station where the seal tells it."""
    name = SEALS[bundle.main]
    line = bundle.files.get(name)
    if line is None:
        if terms.requires_seal:
            raise RefusalError(NOT_SEALED)
        return {"seal": "none"}
    if len(line) > LARGEST_SEAL:
        raise RefusalError(BY_STATE[State.NO_SEAL].format(file=name))
    seal = check_seal(bundle.files[bundle.main], line, terms.stations)
    if seal.station is None:
        if seal.state is not State.UNKNOWN:
            raise RefusalError(BY_STATE[seal.state].format(file=name))
        if terms.requires_seal:
            raise RefusalError(UNKNOWN_KEY)
        return {"seal": "unknown"}
    is_early = _sound_standing(seal, seal.station, day) is Standing.TOO_EARLY
    return {"seal": EARLY if is_early else "intact", "station": seal.station.code}


def _sound_standing(seal: Seal, station: Station, day: str) -> Standing:
    """How the station stood on the day. Raises RefusalError where its seal proves nothing."""
    if seal.state is not State.INTACT:
        raise RefusalError(BY_STATE[seal.state].format(code=station.code))
    standing = standing_on(station, day)
    if standing not in {Standing.VALID, Standing.TOO_EARLY}:
        raise RefusalError(BY_STANDING[standing].format(code=station.code, day=day))
    return standing


def _compare_evidence(packed: bytes, digest: str) -> None:
    """Raises RefusalError where the unpacked lines are others than the report was made of."""
    unpacker = zlib.decompressobj(GZIP)
    try:
        lines = unpacker.decompress(packed, LARGEST_EVIDENCE + 1)
    except zlib.error:
        raise RefusalError(OTHER_EVIDENCE) from None
    is_whole = unpacker.eof and not unpacker.unused_data
    if not is_whole or sha256(lines).hexdigest() != digest:
        raise RefusalError(OTHER_EVIDENCE)
