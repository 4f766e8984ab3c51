r"""Known lines of the kernel's log: the shipped file `kernel-log/lines.toml`.

    kernel_log = 1
    version = "2026.1"

    [[harmless]]
    pattern = '^platform regulatory\.0: '
    meaning = "the list of radio rules is not on this medium; the kernel has its own"
    examples = ["platform regulatory.0: Direct firmware load for regulatory.db failed"]

`[[harmless]]` and `[[trouble]]` have the same keys. Each pattern must be found in its examples,
and no example of trouble may be taken for harmless. A profile has its own `[[harmless]]`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final, cast

from closeout.expect.demand import read_line
from closeout.expect.document import read_document
from closeout.expect.log_line import read_lines
from closeout.expect.mistake import KeyPath, Mistakes, quote
from closeout.expect.parsed import parsed_before
from closeout.expect.profile import is_format
from closeout.expect.proofreader import Proofreader
from closeout.expect.shipped import ShippedFileError, shipped_folder
from closeout.model.log_rules import LogRule, LogRules

LOG_FORMAT: Final = 1
FOLDER: Final = "kernel-log"
FILE: Final = "lines.toml"
TOP_KEYS: Final = ("kernel_log", "version", "harmless", "trouble")


def load_log_rules() -> LogRules:
    """The shipped rules; raises `ShippedFileError` where the file has a mistake or is missing."""
    path = shipped_folder("profiles") / FOLDER / FILE
    try:
        raw = path.read_bytes()
    except OSError as failure:
        raise ShippedFileError(f"{FOLDER}/{FILE}: {failure.strerror}") from None
    if (kept := parsed_before(raw)) is not None:
        return _kept_rules(kept)
    rules = parse_log_rules(f"{FOLDER}/{FILE}", raw)
    if isinstance(rules, Mistakes):
        raise ShippedFileError(rules.show())
    return rules


def _kept_rules(tree: Mapping[str, object]) -> LogRules:
    """The rules of the file that ships; that it has no mistake, a test says of these very bytes.

    To try each pattern on its examples would take as long as all that a check reads.
    """
    harmless, trouble = (
        tuple(LogRule(pattern=one["pattern"], meaning=one["meaning"]) for one in tables)
        for tables in cast("tuple[list[dict[str, str]], ...]", (tree["harmless"], tree["trouble"]))
    )
    return LogRules(harmless=harmless, trouble=trouble)


def parse_log_rules(name: str, raw: bytes) -> LogRules | Mistakes:
    """The rules in a file's bytes, or every mistake in it."""
    document = read_document(name, raw)
    if isinstance(document, Mistakes):
        return document
    tree = document.tree
    proof = Proofreader(document)
    if not is_format(proof, tree, "kernel_log", LOG_FORMAT):
        return proof.mistakes() or Mistakes(found=())
    proof.known_keys((), tree, TOP_KEYS)
    proof.required((), tree, "version", "harmless", "trouble")
    read_line(proof, (), tree, "version")
    harmless = tuple(read_lines(proof, ("harmless",), tree.get("harmless", [])))
    trouble = tuple(read_lines(proof, ("trouble",), tree.get("trouble", [])))
    rules = LogRules(
        harmless=tuple(rule for _, rule, _ in harmless),
        trouble=tuple(rule for _, rule, _ in trouble),
    )
    found = proof.mistakes()
    if found is None:
        for path, _, examples in trouble:
            _refuse_hidden(proof, path, examples, rules.harmless)
    return proof.mistakes() or rules


def _refuse_hidden(
    proof: Proofreader, path: KeyPath, examples: Iterable[str], harmless: Iterable[LogRule]
) -> None:
    """Trouble that a harmless pattern would hide is never told."""
    for example in examples:
        for rule in harmless:
            if rule.is_found_in(example):
                wrong = f"{quote(example)} is taken for harmless by {quote(rule.pattern)}"
                proof.note((*path, "examples"), wrong)
