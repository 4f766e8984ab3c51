"""The line of every key, whatever the spelling of the file."""

import json
import tomllib
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.expect.mistake import KeyPath
from closeout.expect.places import locate_json, locate_toml

KEYS = st.text(alphabet="ab_-1 .\"'\\#=[]µ", min_size=1, max_size=4)
TRICKY = st.text(alphabet="ab \"'\\#=[]{},.\nµ", max_size=8)
SCALARS = st.one_of(
    TRICKY, st.integers(), st.booleans(), st.floats(allow_nan=False, allow_infinity=False)
)
TREES = st.recursive(
    SCALARS,
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(KEYS, inner, max_size=3)),
    max_leaves=8,
)
DOCUMENTS = st.dictionaries(KEYS, TREES, max_size=4)


class Writer:
    """Writes a tree as TOML in a drawn style, and notes the line of every key it writes."""

    def __init__(self, draw: st.DrawFn) -> None:
        self.draw = draw
        self.text = ""
        self.lines: dict[KeyPath, int] = {}

    def write(self, tree: dict[str, Any]) -> None:
        """The whole document, tables under headers or inline."""
        plain = {key: value for key, value in tree.items() if not self.wants_header(value)}
        self.pairs(plain, ())
        for key, value in tree.items():
            if key in plain:
                continue
            self.gap()
            if isinstance(value, list):
                for index, item in enumerate(value):
                    self.gap()
                    self.note((key,))
                    self.note((key, index))
                    self.text += f"[[ {self.key(key)} ]] # [not] = 'a header'\n"
                    self.pairs(item, (key, index))
            else:
                self.note((key,))
                self.text += f"[{self.key(key)}]\n"
                self.pairs(value, (key,))

    def wants_header(self, value: object) -> bool:
        """Whether this value shall stand under a header of its own."""
        if isinstance(value, list) and value and all(isinstance(item, dict) for item in value):
            return self.draw(st.booleans())
        return isinstance(value, dict) and self.draw(st.booleans())

    def pairs(self, table: dict[str, Any], path: KeyPath) -> None:
        """The keys of one table, a lone inner key as a dotted one or not."""
        for key, value in table.items():
            self.gap()
            place = (*path, key)
            if isinstance(value, dict) and len(value) == 1 and self.draw(st.booleans()):
                ((last, inner),) = value.items()
                self.note(place)
                self.note((*place, last))
                self.text += f"{self.key(key)} . {self.key(last)} = "
                self.value(inner, (*place, last))
            else:
                self.note(place)
                self.text += f"{self.key(key)} = "
                self.value(value, place)
            self.text += self.draw(st.sampled_from(["\n", " # 'a' = [\"b\n", "\r\n"]))

    def value(self, value: object, path: KeyPath) -> None:
        """A value, lists over several lines or not."""
        match value:
            case dict():
                self.text += "{"
                for number, (key, inner) in enumerate(value.items()):
                    self.text += ", " if number else " "
                    self.note((*path, key))
                    self.text += f"{self.key(key)}= "
                    self.value(inner, (*path, key))
                self.text += "}"
            case list():
                self.text += "["
                for index, inner in enumerate(value):
                    self.text += self.draw(st.sampled_from(["", "\n", " # ], 'x'\n  "]))
                    self.note((*path, index))
                    self.value(inner, (*path, index))
                    self.text += self.draw(st.sampled_from([",", " ,\n"]))
                self.text += "]"
            case str():
                self.string(value)
            case _:
                self.text += json.dumps(value)

    def string(self, value: str) -> None:
        """Text in one of the four kinds of string."""
        quoted = json.dumps(value, ensure_ascii=False)
        styles = [quoted]
        if "'" not in value and "\n" not in value:
            styles.append(f"'{value}'")
        if "'''" not in value and not value.endswith("'"):
            styles.append(f"'''\n{value}'''")
        escaped = value.replace("\\", "\\\\").replace('"""', '""\\"')
        styles.append(f'"""\n{escaped}"""' if not value.endswith('"') else f'"""{escaped}"""')
        self.text += self.draw(st.sampled_from(styles))

    def key(self, key: str) -> str:
        """A key, bare where it can be."""
        is_bare = key.isascii() and key.replace("_", "a").replace("-", "a").isalnum()
        quoted = json.dumps(key, ensure_ascii=False)
        return self.draw(st.sampled_from([key, quoted])) if is_bare else quoted

    def gap(self) -> None:
        """What may stand between two lines."""
        self.text += self.draw(st.sampled_from(["", "\n", "# [a] b = '''\n", "  \t"]))

    def note(self, path: KeyPath) -> None:
        """The line of a key; the first mention counts."""
        self.lines.setdefault(path, self.text.count("\n") + 1)


def paths_of(value: object, path: KeyPath = ()) -> Iterator[KeyPath]:
    inside: Iterator[tuple[str | int, object]] = iter(())
    if isinstance(value, dict):
        inside = iter(value.items())
    elif isinstance(value, list):
        inside = iter(enumerate(value))
    for key, inner in inside:
        yield (*path, key)
        yield from paths_of(inner, (*path, key))


@given(st.data())
def test_line_of_every_toml_key(data: st.DataObject) -> None:
    writer = Writer(data.draw)
    tree = data.draw(DOCUMENTS)
    writer.write(tree)
    text = writer.text.replace("\r\n", "\n")
    assert tomllib.loads(text) == tree, "the writer of this test must write what it was given"
    assert locate_toml(text).lines == writer.lines


@given(DOCUMENTS, st.sampled_from([None, 0, 2]))
def test_line_of_every_json_key(tree: dict[str, Any], indent: int | None) -> None:
    text = json.dumps(tree, indent=indent)
    places = locate_json(text)
    assert set(places.lines) == set(paths_of(json.loads(text)))
    assert places.repeated == ()
    lines = text.split("\n")
    for path, line in places.lines.items():
        if isinstance(path[-1], str):
            assert json.dumps(path[-1]) in lines[line - 1]


def test_spellings_by_hand() -> None:
    text = """
# TOML 1.0.0: dotted keys, quoted keys, lists of tables, tables inside them
a.'b c'."d\\u0065" = 1
text = \"\"\"
[not] = "a table"
\\\"\"\" still text \"\"\"\"\"
plain = '''
x = 1'''''
dates = [1979-05-27 07:32:00, # a comment, with ]
  1979-05-27]
[[fruit]]
name = "apple"
[fruit.physical]
shape = {round = true, "sides" = [0,
1]}
[[fruit.variety]]
name = 'red'
[[fruit.variety]]
[[fruit]]
""".removeprefix("\n")
    tree = tomllib.loads(text)
    lines = locate_toml(text).lines
    assert set(lines) == set(paths_of(tree))
    assert lines["a", "b c", "de"] == 2
    assert lines["plain",] == 6
    assert lines["dates", 1] == 9
    assert lines["fruit", 0, "name"] == 11
    assert lines["fruit", 0, "physical", "shape", "sides", 1] == 14
    assert lines["fruit", 0, "variety", 1] == 17
    assert lines["fruit", 1] == 18


def test_missing_key_is_placed_at_what_should_hold_it() -> None:
    places = locate_toml("\n\n[unit]\nserial = 1\n")
    assert places.line(("unit", "sku")) == 3
    assert places.line(("order",)) == 1


def test_key_given_twice_is_told_in_json() -> None:
    assert locate_json('{"a": 1,\n"a": {"a": 2}}').repeated == ((("a",), 2),)


def test_text_that_no_parser_accepted_is_refused() -> None:
    with pytest.raises(ValueError, match="line 2"):
        locate_toml("a = 1\n=\n")
