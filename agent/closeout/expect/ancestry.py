"""The files that a profile inherits from, the nearest first: its family's and its maker's."""

from __future__ import annotations

from collections.abc import Callable
from hashlib import sha256
from typing import TypeAlias

from closeout.expect.document import read_document
from closeout.expect.mistake import Mistakes, quote_name
from closeout.expect.profile_file import ProfileFile, read_profile_file
from closeout.expect.proofreader import Proofreader
from closeout.expect.vocabulary import LONGEST_CHAIN

FindParent: TypeAlias = Callable[[str], tuple[str, bytes] | Mistakes | None]
"""From an id to the name and the bytes of its file; None where there is none."""


def no_parent(_: str) -> None:
    """Nothing can be inherited."""


def find_ancestors(
    proof: Proofreader, own: ProfileFile, find: FindParent
) -> tuple[ProfileFile, ...] | Mistakes:
    """The parent, its parent, and so on; one mistake where the chain does not end well.

    What is wrong in the files themselves is told with their names; what is wrong with the chain
    is noted in the file that was asked for.
    """
    chain = [own]
    while wanted := chain[-1].inherits:
        if wrong := _fault_of_chain(chain, wanted):
            proof.note(("inherits",), wrong)
            return ()
        found = find(wanted)
        if found is None:
            whose = "" if len(chain) == 1 else f", which {chain[-1].id} inherits"
            wrong = f"no profile {wanted}{whose}: none ships, and no {wanted}.toml is beside"
            proof.note(("inherits",), wrong)
            return ()
        parent = found if isinstance(found, Mistakes) else _read_parent(*found, wanted)
        if isinstance(parent, Mistakes):
            return parent
        chain.append(parent)
    return tuple(chain[1:])


def _fault_of_chain(chain: list[ProfileFile], wanted: str) -> str:
    names = [file.id for file in chain]
    shown = ", which inherits ".join([*names[1:], wanted])
    if wanted in names:
        return f"a circle without an end: {names[0]} inherits {shown}"
    if len(chain) == LONGEST_CHAIN:
        return f"too long a chain: {names[0]} inherits {shown}; allowed: {LONGEST_CHAIN} files"
    return ""


def _read_parent(name: str, raw: bytes, wanted: str) -> ProfileFile | Mistakes:
    document = read_document(name, raw)
    if isinstance(document, Mistakes):
        return document
    proof = Proofreader(document)
    parent = read_profile_file(proof, name, document.tree, sha256(raw).hexdigest())
    if parent is not None and parent.id and parent.id != wanted:
        proof.note(("id",), f"{quote_name(wanted)} is wanted, by the place of the file")
    mistakes = proof.mistakes()
    if parent is None or mistakes:
        return mistakes or Mistakes(found=())
    return parent
