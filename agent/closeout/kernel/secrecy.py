"""Licence keys stopped: whatever is returned or kept of an answer has passed here.

Two lines of defence. A licence table becomes a statement about itself, with a token where the
key was. Behind it every answer is searched for text in the form of a key, which is masked but
for its last group.
"""

from __future__ import annotations

import re
from typing import Final

from closeout.decode.failure import DecodeError
from closeout.decode.licence_statement import decode_statement, state_licence
from closeout.kernel.record import Answer, Failure, Kind, Question, Record
from closeout.model.late_pattern import late_pattern

LICENCE_PATH: Final = late_pattern(r"(?:^|/)acpi/tables/(?:.*/)?MSDM[0-9]*\Z", re.DOTALL)
NAME: Final = "MSDM"
SIGNATURE: Final = NAME.encode()
SHOWN: Final = 5
TOKEN_FORM: Final = "hmac-sha256:"  # noqa: S105 - says how a token was made

# Any letter and digit, not the key's own alphabet alone: a key typed wrongly is a secret too.
# A text in this form that is no key loses nothing that a report needs.
LETTER: Final = b"[0-9A-Za-z]"
# The search starts at the dash after the first group, for a literal start is found fastest, and
# looks ahead, so that in a longer chain of groups each five in a row are found.
KEY_TEXT: Final = late_pattern(b"-(?<=%b{5}-)(?=(?:%b{5}-){3}%b{5})" % (LETTER, LETTER, LETTER))
# In UTF-16 a NUL stands between each two characters, in either byte order.
WIDE: Final = rb"(?:%b\x00){4}%b" % (LETTER, LETTER)
WIDE_BEFORE: Final = rb"(?:%b\x00){5}-" % LETTER
WIDE_KEY_TEXT: Final = late_pattern(
    rb"-(?<=%b)(?=\x00(?:%b\x00-\x00){3}%b)" % (WIDE_BEFORE, WIDE, WIDE)
)
MASK: Final = b"*"


def is_licence_path(path: str) -> bool:
    """Whether the kernel shows a licence key table under this path."""
    return NAME in path and LICENCE_PATH.search(path) is not None


def scrub(path: str, body: bytes, secret: bytes | None) -> bytes:
    """What may be kept of a file's content; the same again for what is already scrubbed.

    A licence table, known by its path or its signature, becomes the statement about it. The
    token in it is an HMAC with the depot's secret, or without one the last five characters.
    """
    if is_licence_path(path) or body.startswith(SIGNATURE):
        body = _statement(body, secret)
    return mask_keys(body)


def mask_keys(body: bytes) -> bytes:
    """The bytes with each text in the form of a key masked but for its last group."""
    if b"-" not in body:
        return body
    found = [(match.start(), 1) for match in KEY_TEXT.finditer(body)]
    if b"\0" in body:
        found += [(match.start(), 2) for match in WIDE_KEY_TEXT.finditer(body)]
    if not found:
        return body
    masked = bytearray(body)
    for dash, width in found:
        spans = [slice(start, start + 5 * width, width) for start in _groups(dash, width)]
        # One letter repeated is no key but filler, and must be known as such.
        if len(set(b"".join(body[span] for span in spans))) > 1:
            for span in spans[:-1]:
                masked[span] = MASK * 5
    return bytes(masked)


def _groups(first_dash: int, width: int) -> list[int]:
    """Where the five groups start, for characters of `width` bytes."""
    return [first_dash + (6 * group - 5) * width for group in range(5)]


def mask_text(text: str) -> str:
    """The same for text: a name, a path, a question."""
    if "-" not in text:
        return text
    raw = text.encode("utf-8", "surrogatepass")
    masked = mask_keys(raw)
    return text if masked is raw else masked.decode("utf-8", "surrogatepass")


def scrub_question(question: Question) -> Question:
    """The question with keys masked in its text."""
    masked = mask_text(question.text)
    return question if masked is question.text else Question(kind=question.kind, text=masked)


def scrub_answer(question: Question, answer: Answer, secret: bytes | None) -> Answer:
    """The answer to a question without any key, be it content, names or a link's target."""
    match answer:
        case bytes():
            path = question.text if question.kind is Kind.READ else ""
            return scrub(path, answer, secret)
        case str():
            return mask_text(answer)
        case tuple():
            return tuple(sorted(map(mask_text, answer)))
        case Failure():
            return answer


def scrub_record(record: Record, secret: bytes | None) -> Record:
    """The record as it may be kept, for records that others wrote; itself, where it may be."""
    question = scrub_question(record.question)
    answer = scrub_answer(record.question, record.answer, secret)
    if question is record.question and answer == record.answer:
        return record
    return Record(question=question, answer=answer, microseconds=record.microseconds)


def _statement(body: bytes, secret: bytes | None) -> bytes:
    try:
        decode_statement(body)
    except DecodeError:
        return state_licence(body, lambda key: token_for(key, secret))
    return body


def token_for(key: bytes, secret: bytes | None) -> str:
    """What stands for a key: the same token for the same key and secret, and no way back."""
    if secret:
        import hashlib  # noqa: PLC0415 - only where a licence is read
        import hmac  # noqa: PLC0415 - as above

        return TOKEN_FORM + hmac.new(secret, key, hashlib.sha256).hexdigest()
    return key[-SHOWN:].decode("ascii", "backslashreplace")
