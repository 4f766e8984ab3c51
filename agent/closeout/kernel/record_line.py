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
from collections.abc import Mapping, Sequence
from json.encoder import encode_basestring_ascii as _quoted
from typing import Final, TypeAlias, cast

from closeout.kernel.failure import Reason
from closeout.kernel.record import Answer, Failure, Kind, Question, Record

LONGEST_DURATION: Final = 2**53
"""More than any run has, and an exact number for every reader of JSON."""
UNNAMED: Final = "ERRNO_"
MOST_DIGITS: Final = 9
"""Of an errno without a name; the kernel's own have four (MAX_ERRNO, include/linux/err.h)."""

KINDS: Final = tuple((kind.value, kind) for kind in (Kind.READ, Kind.TARGET, Kind.NAMES, Kind.ASK))
"""What is asked most often first."""
_NAMES: Final = {kind: _quoted(kind.value) for kind in Kind}
REASONS: Final[Mapping[str, Reason]] = {reason.value: reason for reason in Reason}
NUMBERS: Final[Mapping[str, int]] = {name: number for number, name in errno.errorcode.items()}
"""Made once, as a recording has a thousand lines."""

Fields: TypeAlias = Mapping[str, object]


class LineError(ValueError):
    """What is wrong with a line."""


def encode_record(record: Record) -> str:
    """The record as one line of JSON, without its line end.

    Written piece by piece: a recording has a thousand lines, and an encoder made for each took
    twice as long.
    """
    asked, answered = _question_fields(record.question), _answer_fields(record.answer)
    return f'{{{asked},{answered},"microseconds":{record.microseconds}}}'


def decode_record(line: str) -> Record:
    """The record on a line.

    Raises:
        LineError: no JSON, or no record; says what is wrong.
    """
    return record_of(decode_object(line))


def record_of(fields: Fields) -> Record:
    """The record that the fields of a line are.

    Raises:
        LineError: no record; says what is wrong.
    """
    question = _decode_question(fields)
    return Record(
        question=question,
        answer=_decode_answer(question.kind, fields),
        microseconds=_decode_duration(fields),
    )


def encode_question(question: Question) -> str:
    """A question alone as one line of JSON: the start of its record."""
    return f"{{{_question_fields(question)}}}"


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
    document = _parse(line)
    if not isinstance(document, dict):
        raise LineError("no JSON object")
    return cast("Fields", document)


def decode_objects(lines: Sequence[str]) -> Sequence[Fields]:
    """The JSON objects on these lines, parsed as one list, which takes a third of the time.

    The same as `decode_object` of each, but that an object may end on another line than it began:
    who takes lines of strangers writes the records again and compares.

    Raises:
        LineError: anything else; it does not say on which line.
    """
    documents = cast("list[object]", _parse(f"[{','.join(lines)}]"))
    if len(documents) != len(lines) or not all(isinstance(one, dict) for one in documents):
        raise LineError("not one JSON object on each line")
    return cast("list[Fields]", documents)


def _parse(text: str) -> object:
    try:
        return json.loads(text)
    except RecursionError:
        raise LineError("nested too deeply") from None
    except ValueError:
        raise LineError("no JSON") from None


def decode_path(found: object) -> str:
    """A path, name or question; its lone surrogates can only be those of undecodable bytes.

    Raises:
        LineError: no text, or no text that a file name can be.
    """
    if not isinstance(found, str):
        raise LineError("a text was expected")
    if found.isascii():
        return found
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


def _question_fields(question: Question) -> str:
    return f"{_NAMES[question.kind]}:{_quoted(question.text)}"


def _answer_fields(answer: Answer) -> str:
    match answer:
        case bytes():
            return _content_fields(answer)
        case tuple():
            return f'"list":[{",".join(map(_quoted, answer))}]'
        case str():
            return f'"path":{_quoted(answer)}'
        case Failure(number=number, reason=reason):
            name = errno.errorcode.get(number, f"{UNNAMED}{number}")
            return f'"errno":{_quoted(name)},"reason":{_quoted(reason.value)}'


def _content_fields(content: bytes) -> str:
    """As text, unless it is none, or shorter as base64."""
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError:
        text = "\0"
    is_plain = _is_plain(text)
    if is_plain and text.isascii():
        return f'"text":{_quoted(text)}'
    coded = binascii.b2a_base64(content, newline=False).decode("ascii")
    if is_plain and len(quoted := _quoted(text)) <= len(coded):
        return f'"text":{quoted}'
    return f'"base64":"{coded}"'


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
            return tuple(map(decode_path, cast("list[object]", names)))
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
