"""The first line of an evidence file: the format's number, then what holds for the whole run."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Final, cast

from closeout.kernel.evidence import Header, Json
from closeout.kernel.record_line import LineError, decode_object
from closeout.model.moment import Moment, ReferenceTime

FORMAT: Final = 1
"""Rises when an older agent could no longer read a file rightly."""
FORMAT_KEY: Final = "closeout_evidence"
KNOWN_KEYS: Final = frozenset(
    {FORMAT_KEY, "agent", "source", "kernel", "started", "finished", "unfinished", "references"}
)
LATEST: Final = 1 << 62
"""Microseconds after the start of a kernel: more than any has run."""


class FormatError(LineError):
    """Evidence in a format of another number."""

    def __init__(self, found: int) -> None:
        super().__init__(f"its format is {found}, and this agent reads format {FORMAT}")


def encode_header(header: Header) -> str:
    """The header as one line of JSON, without its line end.

    Raises:
        LineError: something in `more` is no JSON.
    """
    known: dict[str, Json] = {
        FORMAT_KEY: FORMAT,
        "agent": header.agent,
        "source": header.source,
        "kernel": header.kernel,
        "started": {"text": header.started.text, "source": header.started.source},
        "finished": {"text": header.finished.text, "source": header.finished.source},
        "unfinished": list(header.unfinished),
    }
    if header.references:
        # Only where there is one: what an earlier version wrote stays as it was.
        known["references"] = [_encode_reference(one) for one in header.references]
    more = {key: value for key, value in sorted(header.more.items()) if key not in known}
    try:
        return json.dumps(known | more, separators=(",", ":"), allow_nan=False)
    except (ValueError, RecursionError):
        raise LineError("something in it is no JSON, or nested too deeply") from None


def decode_header(line: str) -> Header:
    """The header on a line; keys that this version does not know are kept in `more`.

    Raises:
        FormatError: the evidence is of another format.
        LineError: no header of evidence.
    """
    fields = decode_object(line)
    found = fields.get(FORMAT_KEY)
    if not isinstance(found, int) or isinstance(found, bool):
        raise LineError("no evidence of closeout")
    if found != FORMAT:
        raise FormatError(found)
    return Header(
        agent=_text(fields, "agent"),
        source=_text(fields, "source"),
        kernel=_text(fields, "kernel"),
        started=_decode_moment(fields, "started"),
        finished=_decode_moment(fields, "finished"),
        unfinished=_decode_unfinished(fields),
        references=_decode_references(fields),
        more={key: cast("Json", fields[key]) for key in fields.keys() - KNOWN_KEYS},
    )


def _decode_moment(fields: Mapping[str, object], key: str) -> Moment:
    found = fields.get(key)
    if not isinstance(found, dict):
        raise LineError(f"no {key!r} in the header")
    parts = cast("Mapping[str, object]", found)
    return Moment(text=_text(parts, "text"), source=_text(parts, "source"))


def _encode_reference(reference: ReferenceTime) -> dict[str, Json]:
    return {
        "text": reference.moment.text,
        "source": reference.moment.source,
        "taken_at_microseconds": reference.taken_at_microseconds,
    }


def _decode_references(fields: Mapping[str, object]) -> tuple[ReferenceTime, ...]:
    found = fields.get("references", [])
    if not isinstance(found, list):
        raise LineError("'references' is no list in the header")
    return tuple(_decode_reference(one) for one in cast("list[object]", found))


def _decode_reference(found: object) -> ReferenceTime:
    moment = _decode_moment({"references": found}, "references")
    taken_at = cast("Mapping[str, object]", found).get("taken_at_microseconds")
    if not isinstance(taken_at, int) or isinstance(taken_at, bool) or not 0 <= taken_at <= LATEST:
        raise LineError("no whole number as 'taken_at_microseconds' in the header")
    return ReferenceTime(moment=moment, taken_at_microseconds=taken_at)


def _decode_unfinished(fields: Mapping[str, object]) -> tuple[str, ...]:
    found = fields.get("unfinished")
    if not isinstance(found, list):
        raise LineError("no 'unfinished' in the header")
    return tuple(_string(name, "unfinished") for name in cast("list[object]", found))


def _text(fields: Mapping[str, object], key: str) -> str:
    return _string(fields.get(key), key)


def _string(found: object, key: str) -> str:
    # A NUL could hide a key in UTF-16 from the search for keys.
    if not isinstance(found, str) or "\0" in found:
        raise LineError(f"no text as {key!r} in the header")
    return found
