"""How every file says what it is: its kind with its format, and its id."""

from __future__ import annotations

from collections.abc import Mapping

from closeout.expect.mistake import KeyPath
from closeout.expect.proofreader import Proofreader
from closeout.expect.vocabulary import ID_PATTERN, ID_RULE


def is_format(proof: Proofreader, tree: Mapping[str, object], key: str, known: int) -> bool:
    """Whether the file says that it is of the kind and format that this version reads."""
    if key not in tree:
        proof.note((key,), f"missing; the file must say {key} = {known}")
        return False
    number = proof.number((key,), tree[key])
    if number not in {known, None}:
        proof.note((key,), f"format {number} is not known here; allowed: {known}")
    return number == known


def read_id(proof: Proofreader, path: KeyPath, value: object) -> str:
    """A profile id; empty where it is not one."""
    return proof.matching(path, value, ID_PATTERN, ID_RULE) or ""
