"""What each rule means to people: the shipped folder `findings` to the catalogue.

`about.toml` holds the version; each class has a file of its name. Keys at the top of that hold
what its rules share; a table, one for `presence` and one for each attribute, holds what is a
rule's own and takes precedence:

    impact = "..."
    [presence]
    title = "Wi-Fi module"

What is said of a device that no part of the profile is, `unexpected`, is the same for all classes.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Final, TypeVar

from closeout.expect.document import is_table, read_document
from closeout.expect.mistake import KeyPath, Mistakes
from closeout.expect.profile import is_format
from closeout.expect.proofreader import Proofreader
from closeout.expect.scalar import Table
from closeout.expect.shipped import ShippedFileError, shipped_folder
from closeout.model.attribute import attributes_of
from closeout.model.catalogue import Catalogue, Entry
from closeout.model.expectation import PRESENCE, rule_id
from closeout.model.frozen import replace
from closeout.model.inventory import KINDS
from closeout.model.part_demand import UNEXPECTED
from closeout.model.report import SourceFile

T = TypeVar("T")

CATALOGUE_FORMAT: Final = 1
FINDINGS: Final = "findings"
KERNEL_LOG: Final = "kernel-log"
ABOUT: Final = "about.toml"
SENTENCES: Final = ("title", "meaning", "impact", "advice")
MAY_BE_EMPTY: Final = ("caution", "question")
UNEXPECTED_KEYS: Final = (*SENTENCES, "question")
ENTRY_KEYS: Final = (*SENTENCES, *MAY_BE_EMPTY, "answerable")
LONGEST_SENTENCE: Final = 500
MOST_RETIRED: Final = 1000
TOP_KEYS: Final = ("catalogue", "version", "retired")


def load_catalogue(kinds: Iterable[str] = KINDS) -> Catalogue:
    """The shipped catalogue with the rules of these classes.

    Raises `ShippedFileError` where a file has a mistake or is missing.
    """
    return _load({kind: (*rules_of(kind), UNEXPECTED) for kind in kinds})


def load_entries(rules: Iterable[str]) -> Catalogue:
    """The shipped catalogue with the entries of these rules: what is not demanded is not read.

    Raises `ShippedFileError` where one of them has a mistake or is missing.
    """
    by_kind: dict[str, tuple[str, ...]] = {}
    for rule in dict.fromkeys(rules):
        kind, _, own = rule.partition(".")
        needed = (PRESENCE, own) if own == UNEXPECTED else (own,)
        by_kind[kind] = (*by_kind.get(kind, ()), *needed)
    return _load(by_kind)


def _load(rules_by_kind: Mapping[str, tuple[str, ...]]) -> Catalogue:
    folder = findings_folder()
    version = _whole(parse_about(ABOUT, _read(folder / ABOUT)))
    entries: dict[str, Entry] = {}
    for kind, rules in rules_by_kind.items():
        name = f"{kind}.toml"
        entries.update(_whole(parse_rules(name, _read(folder / name), kind, rules)))
    unexpected = [kind for kind, rules in rules_by_kind.items() if UNEXPECTED in rules]
    if unexpected:
        name = f"{UNEXPECTED}.toml"
        words = _whole(parse_unexpected(name, _read(folder / name)))
        for kind in unexpected:
            presence = entries[rule_id(kind, PRESENCE)]
            entries[rule_id(kind, UNEXPECTED)] = _about_unexpected(presence, words)
    return Catalogue(version=version, entries=entries)


def _about_unexpected(presence: Entry, words: Mapping[str, str]) -> Entry:
    return replace(presence, **{**words, "title": f"{words['title']}: {presence.title}"})


def catalogue_source(catalogue: Catalogue) -> SourceFile:
    """How a report names the rules: version, and SHA-256 of all shipped files in order.

    The known lines of the kernel's log are among them: they decide what is told as trouble.
    """
    digest = _digest_rules(findings_folder())
    return SourceFile(name=FINDINGS, revision=catalogue.version, digest=digest)


@cache
def _digest_rules(findings: Path) -> str:
    """Worked out once: what ships does not change while the program runs."""
    digest = sha256()
    for folder in (findings, findings.parent / KERNEL_LOG):
        names = os.listdir(folder)  # noqa: PTH208 - names alone, in as few steps as can be
        for name in sorted(name for name in names if name.endswith(".toml")):
            digest.update(name.encode() + b"\0" + (folder / name).read_bytes() + b"\0")
    return digest.hexdigest()


def findings_folder() -> Path:
    """Where the shipped catalogue is."""
    return shipped_folder("profiles") / FINDINGS


def parse_about(name: str, raw: bytes) -> str | Mistakes:
    """The version of the rules, or every mistake in the file about all of them."""
    document = read_document(name, raw)
    if isinstance(document, Mistakes):
        return document
    tree = document.tree
    proof = Proofreader(document)
    if not is_format(proof, tree, "catalogue", CATALOGUE_FORMAT):
        return proof.mistakes() or Mistakes(found=())
    proof.known_keys((), tree, TOP_KEYS)
    proof.required((), tree, "version", "retired")
    version = proof.text(("version",), tree.get("version", ""))
    for path, rule in proof.items(("retired",), tree.get("retired", []), MOST_RETIRED):
        kind, _, own = (proof.text(path, rule) or "").partition(".")
        if kind in KINDS and own in rules_of(kind):
            proof.note(path, "this id is in use again; a retired one never is")
    return proof.mistakes() or version or ""


def parse_rules(
    name: str, raw: bytes, kind: str, wanted: tuple[str, ...] | None = None
) -> Mapping[str, Entry] | Mistakes:
    """An entry for every rule there can be about a class, or every mistake in its file.

    With `wanted` the entries of these rules, given without the class, and their mistakes.
    """
    document = read_document(name, raw)
    if isinstance(document, Mistakes):
        return document
    tree = document.tree
    proof = Proofreader(document)
    rules = rules_of(kind)
    proof.known_keys((), tree, (*ENTRY_KEYS, *rules))
    proof.required((), tree, *rules)
    read = _read_entries(proof, tree, [own for own in wanted or rules if own != UNEXPECTED])
    entries = {f"{kind}.{rule}": entry for rule, entry in read}
    return proof.mistakes() or entries


def parse_unexpected(name: str, raw: bytes) -> Mapping[str, str] | Mistakes:
    """The words about a device that no part is, or every mistake in their file."""
    document = read_document(name, raw)
    if isinstance(document, Mistakes):
        return document
    proof = Proofreader(document)
    proof.known_keys((), document.tree, UNEXPECTED_KEYS)
    proof.required((), document.tree, *UNEXPECTED_KEYS)
    words = {key: _read_text(proof, (), document.tree, key) for key in UNEXPECTED_KEYS}
    return proof.mistakes() or words


def rules_of(kind: str) -> tuple[str, ...]:
    """The names after the dot of every rule about a class: `presence` and its attributes."""
    return (PRESENCE, *attributes_of(KINDS[kind]))


def _read(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as failure:
        raise ShippedFileError(f"{FINDINGS}/{path.name}: {failure.strerror}") from None


def _whole(parsed: T | Mistakes) -> T:
    if isinstance(parsed, Mistakes):
        raise ShippedFileError(parsed.show())
    return parsed


def _read_entries(
    proof: Proofreader, tree: Table, rules: Iterable[str]
) -> Iterator[tuple[str, Entry]]:
    shared = {key: value for key, value in tree.items() if key in ENTRY_KEYS}
    for rule in rules:
        own = tree.get(rule, {})
        if not is_table(own):
            proof.note((rule,), "a table is wanted")
            continue
        proof.known_keys((rule,), own, ENTRY_KEYS)
        yield rule, _read_entry(proof, (rule,), {**shared, **own})


def _read_entry(proof: Proofreader, path: KeyPath, table: Table) -> Entry:
    proof.required(path, table, *SENTENCES, "answerable")
    texts = {key: _read_text(proof, path, table, key) for key in (*SENTENCES, *MAY_BE_EMPTY)}
    answerable = proof.flag((*path, "answerable"), table.get("answerable", False)) is True
    if answerable and not texts["question"]:
        proof.note((*path, "question"), "missing, although a person may answer it")
    return Entry(**texts, answerable=answerable)


def _read_text(proof: Proofreader, path: KeyPath, table: Table, key: str) -> str:
    value = table.get(key, "")
    if value == "" and (key in MAY_BE_EMPTY or key not in table):
        return ""
    return proof.text((*path, key), value, LONGEST_SENTENCE) or ""
