r"""One record as one line of JSON, readable by people where the answer is.

The question's kind is the key of its text; what follows is one of
`"text"` (content that is printable UTF-8), `"base64"` (any other content), `"list"` (names),
`"path"` (a link's target), or `"errno"` and `"reason"`; then the `"microseconds"`:

    {"read":"sys/class/power_supply/BAT0/status","text":"Full\n","microseconds":57}
    {"names":"sys/class/nvme","errno":"ENOENT","reason":"KERNEL","microseconds":4}

Lines are ASCII; bytes of a name that are no UTF-8 are the escapes of lone surrogates.
"""

from __future__ import annotations

import binascii
import errno
import json
from collections.abc import Mapping
from typing import Final, TypeAlias, cast

from closeout.kernel.failure import Reason
from closeout.kernel.record import Answer, Failure, Kind, Question, Record

LONGEST_DURATION: Final = 2**53
"""More than any run has, and an exact number for every reader of JSON."""
UNNAMED: Final = "ERRNO_"
MOST_DIGITS: Final = 9
"""Of an errno without a name; the kernel's own have four (MAX_ERRNO, include/linux/err.h)."""

KINDS: Final = tuple((kind.value, kind) for kind in Kind)
REASONS: Final[Mapping[str, Reason]] = {reason.value: reason for reason in Reason}
NUMBERS: Final[Mapping[str, int]] = {name: number for number, name in errno.errorcode.items()}
"""Made once, as a recording has a thousand lines."""

_ENCODER: Final = json.JSONEncoder(separators=(",", ":"))

Fields: TypeAlias = Mapping[str, object]


class LineError(ValueError):
    """What is wrong with a line."""


def encode_record(record: Record) -> str:
    """The record as one line of JSON, without its line end."""
    question = record.question
    fields: dict[str, object] = {question.kind.value: question.text}
    fields |= _encode_answer(record.answer)
    fields["microseconds"] = record.microseconds
    return _ENCODER.encode(fields)


def decode_record(line: str) -> Record:
    """The record on a line.

    Raises:
        LineError: no JSON, or no record; says what is wrong.
    """
    fields = decode_object(line)
    question = _decode_question(fields)
    return Record(
        question=question,
        answer=_decode_answer(question.kind, fields),
        microseconds=_decode_duration(fields),
    )


def encode_question(question: Question) -> str:
    """A question alone as one line of JSON: the start of its record."""
    return _ENCODER.encode({question.kind.value: question.text})


def decode_question(line: str) -> Question:
    """The question on a line.

    Raises:
        LineError: no JSON, or no question.
    """
    return _decode_question(decode_object(line))


def decode_object(line: str) -> Fields:
    """The JSON object on a line.

    Raises:
        LineError: anything else.
    """
    try:
        document: object = json.loads(line)
    except RecursionError:
        raise LineError("nested too deeply") from None
    except ValueError:
        raise LineError("no JSON") from None
    if not isinstance(document, dict):
        raise LineError("no JSON object")
    return cast("Fields", document)


def decode_path(found: object) -> str:
    """A path, name or question; its lone surrogates can only be those of undecodable bytes.

    Raises:
        LineError: no text, or no text that a file name can be.
    """
    if not isinstance(found, str):
        raise LineError("a text was expected")
    try:
        found.encode("utf-8", "surrogateescape")
    except UnicodeEncodeError:
        raise LineError("half a surrogate pair") from None
    return found


def _decode_question(fields: Fields) -> Question:
    for key, kind in KINDS:
        if key in fields:
            return Question(kind=kind, text=decode_path(fields[key]))
    raise LineError("no question in it")


def _encode_answer(answer: Answer) -> dict[str, object]:
    match answer:
        case bytes():
            return _encode_content(answer)
        case tuple():
            return {"list": list(answer)}
        case str():
            return {"path": answer}
        case Failure(number=number, reason=reason):
            name = errno.errorcode.get(number, f"{UNNAMED}{number}")
            return {"errno": name, "reason": reason.value}


def _encode_content(content: bytes) -> dict[str, object]:
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError:
        text = "\0"
    coded = binascii.b2a_base64(content, newline=False).decode("ascii")
    if _is_plain(text) and (text.isascii() or len(json.dumps(text)) <= len(coded)):
        return {"text": text}
    return {"base64": coded}


def _is_plain(text: str) -> bool:
    return text.isprintable() or text.replace("\n", "").replace("\t", "").isprintable()


def _decode_answer(kind: Kind, fields: Fields) -> Answer:
    if "errno" in fields:
        return _decode_failure(fields)
    match kind:
        case Kind.READ | Kind.ASK:
            return _decode_content(fields)
        case Kind.NAMES:
            names = fields.get("list")
            if not isinstance(names, list):
                raise LineError("neither names nor a failure")
            return tuple(decode_path(name) for name in cast("list[object]", names))
        case Kind.TARGET:
            return decode_path(fields.get("path"))


def _decode_content(fields: Fields) -> bytes:
    text, coded = fields.get("text"), fields.get("base64")
    try:
        if isinstance(text, str):
            return text.encode("utf-8")
        if isinstance(coded, str):
            return binascii.a2b_base64(coded, strict_mode=True)
    except ValueError:
        raise LineError("content that is no UTF-8 or base64") from None
    raise LineError("neither content nor a failure")


def _decode_failure(fields: Fields) -> Failure:
    word = fields.get("reason")
    if not isinstance(word, str) or word not in REASONS:
        raise LineError("a reason that does not exist")
    return Failure(number=_decode_errno(fields["errno"]), reason=REASONS[word])


def _decode_errno(name: object) -> int:
    if not isinstance(name, str):
        raise LineError("the errno is no text")
    if name in NUMBERS:
        return NUMBERS[name]
    digits = name.removeprefix(UNNAMED)
    if digits == name or len(digits) > MOST_DIGITS or not digits.isdecimal():
        raise LineError("an errno that does not exist")
    return int(digits)


def _decode_duration(fields: Fields) -> int:
    duration = fields.get("microseconds")
    if not isinstance(duration, int) or isinstance(duration, bool):
        raise LineError("no duration")
    if not 0 <= duration <= LONGEST_DURATION:
        raise LineError("a duration that cannot be")
    return duration
