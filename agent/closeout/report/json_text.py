"""JSON as bytes and back: nothing hidden in the text, no floats, limits on what is read."""

from __future__ import annotations

import json
import re
from functools import lru_cache
from json.encoder import encode_basestring as _quoted
from typing import Final, NoReturn, TypeAlias, cast

from closeout.model.late_pattern import late_pattern
from closeout.report.failure import ReportError
from closeout.report.foreign import is_shown

LARGEST: Final = 32 << 20
"""Bytes of a report that are looked at; a real one has less than one MiB."""

DEEPEST: Final = 16
"""Objects and lists inside each other; a report needs eight."""

CONSTANTS: Final = {None: "null", True: "true", False: "false"}
DELETE, SPELLED = "\x7f", "\\u007f"
"""The one ASCII character beyond the printable ones that the encoder leaves alone."""
Tree: TypeAlias = "str | int | dict[str, Tree] | list[Tree] | tuple[Tree, ...] | None"
"""What a report is made of."""
_SUSPECT: Final = late_pattern("[^ -~]+")
_STRUCTURE: Final = late_pattern(rb'"(?:[^"\\]|\\.)*+\\?(?:"|\Z)|[\[{]|[\]}]', re.DOTALL)


def dump_json(tree: object) -> bytes:
    r"""UTF-8, indented, in the order given, with a newline at the end.

    Characters that a reader does not see stand as `\u202e`, so that the file is harmless on a
    terminal. A lone surrogate, which has no UTF-8, becomes its visible spelling.
    """
    text = _indented(cast("Tree", tree), "\n") + "\n"
    return text.replace(DELETE, SPELLED).encode()


def _indented(value: Tree, line: str) -> str:
    """What `json.dumps(value, ensure_ascii=False, indent=1)` writes, for what a report is made of.

    With an indent the standard library goes through every value by a chain of generators, which
    took three times as long. `line` is the line end with the indent of the value's own line.
    """
    if isinstance(value, str):
        return _text(value)
    if value is None or isinstance(value, bool):
        return CONSTANTS[value]
    inside = f"{line} "
    if isinstance(value, dict) and value:
        parts = [
            f"{_name(key)}: {_text(part) if isinstance(part, str) else _indented(part, inside)}"
            for key, part in value.items()
        ]
        return f"{{{inside}{f',{inside}'.join(parts)}{line}}}"
    if isinstance(value, list | tuple) and value:
        parts = [
            _text(part) if isinstance(part, str) else _indented(part, inside) for part in value
        ]
        return f"[{inside}{f',{inside}'.join(parts)}{line}]"
    if isinstance(value, int):
        return str(value)
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


@lru_cache(1024)
def _name(text: str) -> str:
    """The name of a field: a report has a hundred of them, each a hundred times."""
    return _text(text)


def _text(text: str) -> str:
    quoted = _quoted(text)
    if quoted.isascii():
        return quoted
    visible = text.encode("utf-8", "backslashreplace").decode()
    return _SUSPECT.sub(_escape, _quoted(visible))


def parse_json(raw: bytes) -> object:
    """The value in the bytes; ReportError for what is too large, too deep or not JSON."""
    if len(raw) > LARGEST:
        raise ReportError("", f"larger than {LARGEST} bytes")
    if _depth(raw) > DEEPEST:
        raise ReportError("", f"nested deeper than {DEEPEST}")
    try:
        return json.loads(raw.decode("utf-8"), parse_float=_refuse, parse_constant=_refuse)
    except UnicodeDecodeError as failure:
        raise ReportError("", f"not UTF-8 at byte {failure.start}") from None
    except json.JSONDecodeError as failure:
        where = f"line {failure.lineno}, column {failure.colno}"
        raise ReportError("", f"not JSON at {where}: {failure.msg}") from None
    except ValueError:  # Python's own limit on the digits of a number
        raise ReportError("", "a number has too many digits") from None


def _escape(found: re.Match[str]) -> str:
    return "".join(
        character if is_shown(character) else _spell(character) for character in found[0]
    )


def _spell(character: str) -> str:
    """The JSON escape."""
    return json.dumps(character)[1:-1]


def _refuse(text: str) -> NoReturn:
    raise ReportError("", f"{text[:40]} is not a whole number")


def _depth(raw: bytes) -> int:
    depth = deepest = 0
    for found in _STRUCTURE.finditer(raw):
        match found[0][:1]:
            case b"[" | b"{":
                depth += 1
                deepest = max(deepest, depth)
            case b"]" | b"}":
                depth -= 1
            case _:
                pass
    return deepest
