"""What each rule means to people: the shipped `findings.toml` to the catalogue.

A table for each class holds what its rules share; a table inside it, one for `presence` and one
for each attribute, holds what is a rule's own and takes precedence:

    [wifi]
    impact = "..."
    [wifi.presence]
    title = "Wi-Fi module"
"""

from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path
from typing import Final

from closeout.expect.document import Document, is_table, read_document
from closeout.expect.mistake import KeyPath, Mistakes
from closeout.expect.profile import is_format
from closeout.expect.proofreader import Proofreader
from closeout.expect.scalar import Table
from closeout.expect.shipped import ShippedFileError, shipped_folder
from closeout.model.attribute import attributes_of
from closeout.model.catalogue import Catalogue, Entry
from closeout.model.inventory import KINDS
from closeout.model.report import SourceFile

CATALOGUE_FORMAT: Final = 1
FINDINGS: Final = "findings.toml"
SENTENCES: Final = ("title", "meaning", "impact", "advice")
MAY_BE_EMPTY: Final = ("caution", "question")
ENTRY_KEYS: Final = (*SENTENCES, *MAY_BE_EMPTY, "answerable")
LONGEST_SENTENCE: Final = 500
MOST_RETIRED: Final = 1000
TOP_KEYS: Final = ("catalogue", "version", "retired")


def load_catalogue() -> Catalogue:
    """The shipped catalogue. Raises `ShippedFileError` where the file has a mistake."""
    path = findings_file()
    catalogue = parse_catalogue(path.name, path.read_bytes())
    if isinstance(catalogue, Mistakes):
        raise ShippedFileError(catalogue.show())
    return catalogue


def catalogue_source(catalogue: Catalogue) -> SourceFile:
    """How a report names the rules: version and SHA-256 of the shipped file."""
    digest = sha256(findings_file().read_bytes()).hexdigest()
    return SourceFile(name=FINDINGS, revision=catalogue.version, digest=digest)


def findings_file() -> Path:
    """Where the shipped catalogue is."""
    return shipped_folder("profiles") / FINDINGS


def parse_catalogue(name: str, raw: bytes) -> Catalogue | Mistakes:
    """A catalogue with an entry for every rule there can be, or every mistake in the file."""
    document = read_document(name, raw)
    if isinstance(document, Mistakes):
        return document
    return _build(document)


def rules_of(kind: str) -> tuple[str, ...]:
    """The names after the dot of every rule about a class: `presence` and its attributes."""
    return ("presence", *attributes_of(KINDS[kind]))


def _build(document: Document) -> Catalogue | Mistakes:
    tree = document.tree
    proof = Proofreader(document)
    if not is_format(proof, tree, "catalogue", CATALOGUE_FORMAT):
        return proof.mistakes() or Mistakes(found=())
    proof.known_keys((), tree, (*TOP_KEYS, *KINDS))
    proof.required((), tree, "version", "retired", *KINDS)
    version = proof.text(("version",), tree.get("version", ""))
    entries = dict(_read_entries(proof, tree))
    for path, rule in proof.items(("retired",), tree.get("retired", []), MOST_RETIRED):
        if proof.text(path, rule) in entries:
            proof.note(path, "this id is in use again; a retired one never is")
    return proof.mistakes() or Catalogue(version=version or "", entries=entries)


def _read_entries(proof: Proofreader, tree: Table) -> Iterator[tuple[str, Entry]]:
    for kind in (kind for kind in KINDS if kind in tree):
        table = proof.table((kind,), tree[kind])
        rules = rules_of(kind)
        proof.known_keys((kind,), table, (*ENTRY_KEYS, *rules))
        proof.required((kind,), table, *rules)
        shared = {key: value for key, value in table.items() if key in ENTRY_KEYS}
        for rule in rules:
            own = table.get(rule, {})
            if not is_table(own):
                proof.note((kind, rule), "a table is wanted")
                continue
            proof.known_keys((kind, rule), own, ENTRY_KEYS)
            yield f"{kind}.{rule}", _read_entry(proof, (kind, rule), {**shared, **own})


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
