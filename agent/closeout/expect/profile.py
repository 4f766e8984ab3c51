"""What a model must have: a profile file, version 1, with all that it inherits, to expectations."""

from __future__ import annotations

from collections.abc import Mapping
from hashlib import sha256

from closeout.expect.ancestry import FindParent, find_ancestors, no_parent
from closeout.expect.clash import ClashFinder
from closeout.expect.document import Document, read_document
from closeout.expect.file_head import is_format, read_id
from closeout.expect.inheritance import (
    Inherited,
    built_in_of,
    digest_chain,
    is_blank_by_norm,
    labels_of,
    merge_chain,
    parts_of_chain,
    revision_of,
)
from closeout.expect.label_format import LabelFormat
from closeout.expect.mistake import Mistakes
from closeout.expect.own_connection import OwnConnection
from closeout.expect.profile_file import (
    Drop,
    Match,
    ProfileFile,
    read_profile_file,
)
from closeout.expect.proofreader import Proofreader
from closeout.expect.scalar import Target
from closeout.expect.sequence import in_order
from closeout.model.built_in import BuiltIn
from closeout.model.expectation import Expectation, Filled
from closeout.model.frozen import field, frozen, replace
from closeout.model.log_rules import LogRule
from closeout.model.option import Choice, Option
from closeout.model.part_demand import PartDemand
from closeout.model.report import SourceFile

__all__ = [
    "Match",
    "Profile",
    "build_profile",
    "is_format",
    "parse_profile",
    "read_id",
]


@frozen
class Profile:
    """What a model must have; `digest` is the SHA-256 of its files, `matches` None for any unit.

    `built_in` names what is inside the unit although the kernel's name for it does not tell;
    `harmless` are lines of the kernel's log that every unit of the model has. `chain` are the
    files it was made of, its own last; `lacks` connections of the repair map that the model does
    not have; `keyboard_layout` is empty where nobody says; `labels` is by field of the unit;
    `blank` the class and attribute of what healthy units leave blank; `dropped` what the file
    takes away of what it inherits; `parts` what it
    names one by one; `connections` its own words for those of the repair map, the last one first
    to go by. A base is only there to be inherited.
    """

    id: str
    revision: str
    title: str
    digest: str
    matches: Match | None
    built_in: BuiltIn
    expectations: tuple[Expectation, ...]
    harmless: tuple[LogRule, ...] = ()
    chain: tuple[SourceFile, ...] = ()
    only_inherited: bool = False
    lacks: tuple[str, ...] = ()
    keyboard_layout: str = ""
    labels: Mapping[str, LabelFormat] = field(default_factory=dict)
    options: tuple[Option, ...] = ()
    blank: tuple[Target, ...] = ()
    dropped: tuple[Drop, ...] = ()
    parts: tuple[PartDemand, ...] = ()
    connections: tuple[OwnConnection, ...] = ()

    @property
    def source(self) -> SourceFile:
        """How a report names it."""
        return SourceFile(name=self.id, revision=self.revision, digest=self.digest)


def parse_profile(name: str, raw: bytes, find: FindParent = no_parent) -> Profile | Mistakes:
    """The profile in a file's bytes, or every mistake in it. `name` is what people call the file.

    `find` gives the files that it inherits. The order of the demands changes nothing but the
    digest.
    """
    document = read_document(name, raw)
    if isinstance(document, Mistakes):
        return document
    return build_profile(document, sha256(raw).hexdigest(), find)


def build_profile(
    document: Document, digest: str, find: FindParent = no_parent
) -> Profile | Mistakes:
    """The profile in a well-formed document, or every mistake in it."""
    proof = Proofreader(document)
    own = read_profile_file(proof, document.name, document.tree, digest)
    if own is None:
        return proof.mistakes() or Mistakes(found=())
    above = find_ancestors(proof, own, find)
    if isinstance(above, Mistakes):
        told = proof.mistakes()
        return Mistakes(found=((*told.found, *above.found) if told else above.found))
    whole = merge_chain(proof, own, above)
    if not proof.mistakes() and not own.only_inherited and not whole.demands:
        proof.note(("demand",), "nothing is demanded, so nothing could be released")
    ClashFinder(proof, own.name, whole).note_all()
    return proof.mistakes() or _join(own, above, whole)


def _join(own: ProfileFile, above: tuple[ProfileFile, ...], whole: Inherited) -> Profile:
    chain = (own, *above)
    kept = [one for one in whole.demands if not is_blank_by_norm(one, whole.norm)]
    layouts = [file.keyboard_layout for file in chain if file.keyboard_layout]
    return Profile(
        id=own.id,
        revision=revision_of(chain),
        title=own.title,
        digest=digest_chain(chain),
        matches=own.matches,
        built_in=built_in_of(chain),
        expectations=in_order(demand.expectation for demand in kept),
        harmless=tuple(dict.fromkeys(rule for file in reversed(chain) for rule in file.harmless)),
        chain=tuple(file.source for file in reversed(chain)),
        only_inherited=own.only_inherited,
        lacks=tuple(whole.lacks),
        keyboard_layout=layouts[0] if layouts else "",
        labels=labels_of(chain),
        options=_options_of(whole),
        blank=tuple(sorted(whole.norm)),
        dropped=own.drops,
        parts=parts_of_chain(chain),
        connections=tuple(each for file in reversed(chain) for each in file.connections),
    )


def _options_of(whole: Inherited) -> tuple[Option, ...]:
    """By name, each choice with its demands in order and without what the norm leaves blank."""
    options = sorted((placed.option for placed in whole.options), key=lambda option: option.name)
    return tuple(
        replace(option, choices=tuple(_with_norm(choice, whole) for choice in option.choices))
        for option in options
    )


def _with_norm(choice: Choice, whole: Inherited) -> Choice:
    kept = [
        one
        for one in choice.expectations
        if not (isinstance(one.demand, Filled) and (one.kind, one.attribute) in whole.norm)
    ]
    return replace(choice, expectations=in_order(kept))
