"""The text of a profile file out of a table of its values: TOML that a person reads on."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from typing import cast

from closeout.expect.document import is_list, is_table


def write_profile(tree: Mapping[str, object]) -> str:
    """The file: plain keys first, then tables and lists of tables under their headers.

    Half of a surrogate pair in a text is written as a question mark, for no file can hold it.
    """
    return "\n".join(_lines(tree)).encode("utf-8", "replace").decode() + "\n"


def _lines(tree: Mapping[str, object]) -> Iterator[str]:
    later = {key: value for key, value in tree.items() if is_table(value) or _is_tables(value)}
    for key, value in tree.items():
        if key not in later:
            yield f"{key} = {_inline(value)}"
    for key, value in later.items():
        for part in value if is_list(value) else [value]:
            yield f"\n[[{key}]]" if is_list(value) else f"\n[{key}]"
            for name, inner in cast("Mapping[str, object]", part).items():
                yield f"{name} = {_inline(inner)}"


def _is_tables(value: object) -> bool:
    return is_list(value) and bool(value) and all(is_table(part) for part in value)


def _inline(value: object) -> str:
    """A value on one line; JSON's spelling of text, numbers and flags is TOML's too."""
    if is_table(value):
        inside = ", ".join(f"{key} = {_inline(inner)}" for key, inner in value.items())
        return f"{{ {inside} }}"
    if is_list(value):
        return f"[{', '.join(_inline(inner) for inner in value)}]"
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
