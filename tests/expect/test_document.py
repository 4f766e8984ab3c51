"""Bytes to documents: syntax with its place, limits, hostile files."""

import subprocess
import sys

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from closeout.expect.document import LARGEST_FILE, Document, read_document
from closeout.expect.mistake import Mistakes

HOPELESS = 300
"""Seconds after which a walk is one without end, on the slowest machine."""


def show(raw: bytes) -> str:
    outcome = read_document("x.toml", raw)
    assert isinstance(outcome, Mistakes)
    return outcome.show()


@pytest.mark.parametrize(
    ("raw", "line"),
    [
        (b"a = 1\nb = \n", "x.toml:2:5: not valid TOML: Invalid value"),
        (b"a = 1\na = 2\n", "x.toml:2:6: not valid TOML: Cannot overwrite a value"),
        (b"a = [1,\n", "x.toml:1: not valid TOML: Invalid value, and the file ends here"),
        (b'{"a": 1\n"b": 2}', "x.toml:2:1: not valid JSON: Expecting ',' delimiter"),
        (b"{}{}", "x.toml:1:3: not valid JSON: Extra data"),
        (b"a = '\xff'", "x.toml: not UTF-8 text: byte 5 does not fit"),
        ("a = 'x'".encode("utf-16"), "x.toml: not UTF-8 text: byte 0 does not fit"),
        (b"a = 1\nb = '\0'", "x.toml:2: a NUL character; this is no text file"),
        (b"#" * (LARGEST_FILE + 1), "x.toml: larger than 1048576 bytes, which is the limit"),
        (b"a = " + b"[" * 5000, "x.toml: nested too deeply; allowed: 8 levels"),
        (b"a = " + b"[" * 20 + b"]" * 20, "x.toml: nested too deeply; allowed: 8 levels"),
        (b'{"a": ' + b"[" * 100_000, "x.toml: nested too deeply; allowed: 8 levels"),
        (b"a.b.c.d.e.f.g.h.i.j = 1", "x.toml:1: too many dots on one line"),
        (b"a = '" + b"." * 61 + b"'", "x.toml:1: too many dots on one line"),
        (b'{"a": "\\ud800"}', "x.toml: half of a surrogate pair in '\\ud800'"),
        (b'{"a": ' + b"9" * 5000 + b"}", "x.toml: not valid JSON: Exceeds the limit"),
        (b"a = " + b"9" * 5000, "x.toml: not valid TOML: Exceeds the limit"),
    ],
)
def test_mistake_of_the_whole_file_is_one_line(raw: bytes, line: str) -> None:
    shown = show(raw)
    assert shown.startswith(line)
    assert "\n" not in shown
    assert shown.isprintable()


def test_a_comma_too_many_is_told_at_the_comma_or_at_the_brace() -> None:
    """The parser of Python 3.13 points at the comma, earlier ones at what follows it."""
    shown = show(b'{"a": 1,\n}')
    assert shown.startswith(("x.toml:1:8: not valid JSON", "x.toml:2:1: not valid JSON"))
    assert "\n" not in shown


def test_json_is_known_by_its_brace_and_toml_may_have_a_mark() -> None:
    as_json = read_document("x", b'\n {"a": 1}')
    as_toml = read_document("x", b"\xef\xbb\xbfa = 1\r\n")
    assert isinstance(as_json, Document)
    assert isinstance(as_toml, Document)
    assert as_json.tree == as_toml.tree == {"a": 1}


@given(st.one_of(st.binary(), st.text().map(str.encode)))
@example(b"{")
@example(b"")
def test_any_bytes_give_a_document_or_mistakes(raw: bytes) -> None:
    outcome = read_document("x\n.toml", raw)
    if isinstance(outcome, Mistakes):
        assert outcome.found
        assert all(mistake.show().isprintable() for mistake in outcome.found)


HOSTILE = {
    "dotted keys": "\n".join(f"k{n}{'.a' * 8} = 1" for n in range(40_000)),
    "headers": "\n".join(f"[k{n}{'.a' * 8}]" for n in range(40_000)),
    "dotted keys in tables": "\n".join(
        f"k{n} = {{ '' = '', b.'c'{'.a' * 50} = '' }}" for n in range(7_000)
    ),
    "one long key": "a" * (1 << 20),
    "one long text": "a = '" + "x" * ((1 << 20) - 10) + "'",
    "quotes": 'a = """' + '"" ' * (1 << 18) + '"""',
    "backslashes": 'a = "' + "\\\\" * (1 << 19) + '"',
    "lists of tables": "[[a]]\n" * (1 << 17),
    "brackets": "[" * (1 << 20),
    "hexadecimal": "a = 0x" + "f" * ((1 << 20) - 10),
}


READ = """
import sys
from closeout.expect.document import read_document
read_document("x.toml", sys.stdin.buffer.read())
"""


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_file_ends(name: str) -> None:
    """Each takes seconds at most; without its limit the walk of a parser would take hours."""
    raw = HOSTILE[name].encode()[:LARGEST_FILE]
    subprocess.run([sys.executable, "-c", READ], input=raw, check=True, timeout=HOPELESS)
