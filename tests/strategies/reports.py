"""Reports for tests: any at all, and one with a text of choice in every place."""

from collections.abc import Callable
from dataclasses import fields, is_dataclass, replace
from enum import Enum
from typing import Any, TypeVar

from hypothesis import strategies as st

from closeout.model.attribute import Attribute, Shape, attributes_of
from closeout.model.catalogue import Entry
from closeout.model.device import Device, Position
from closeout.model.expectation import Weight
from closeout.model.finding import Answer, Concession, Finding, Outcome, Reply
from closeout.model.handling import (
    EarlierAttempt,
    HandBack,
    HandBackItem,
    Handling,
    Omission,
    OrderFacts,
    PartChange,
    Revision,
    VoidProof,
)
from closeout.model.inventory import KINDS, Inventory, Section
from closeout.model.moment import Moment
from closeout.model.profile_signature import ProfileSignature, SignatureState
from closeout.model.reading import Absent, Blank, Filler, Reading, Unreadable, Value
from closeout.model.report import Circumstances, Report, SourceFile, Step, Unanswered
from closeout.model.verdict import Verdict

T = TypeVar("T")

texts = st.text(st.characters(exclude_categories=("Cs",)), max_size=12)
"""Any text but lone surrogates, which no JSON reader has to take."""

some_texts = st.lists(texts, max_size=3).map(tuple)
integers = st.integers(min_value=-(2**70), max_value=2**70)


def readings(attribute: Attribute) -> st.SearchStrategy[Reading[Any]]:
    """A reading of the attribute's shape in any of the five states."""
    values: dict[Shape, st.SearchStrategy[Any]] = {
        Shape.TEXT: texts,
        Shape.VERSION: texts,
        Shape.INTEGER: integers,
        Shape.FLAG: st.booleans(),
        Shape.TEXTS: some_texts,
    }
    return st.one_of(
        st.builds(Value, value=values[attribute.shape], sources=some_texts),
        st.builds(Blank, reason=texts, sources=some_texts),
        st.builds(Filler, text=texts, reason=texts, sources=some_texts),
        st.builds(Absent, reason=texts, sources=some_texts),
        st.builds(Unreadable, error=texts, advice=texts, sources=some_texts),
    )


def devices(kind: str) -> st.SearchStrategy[Device]:
    """A device of the kind with any readings."""
    record = KINDS[kind]
    attributes = {name: readings(part) for name, part in attributes_of(record).items()}
    positions = st.sampled_from(Position)
    return st.builds(record, place=texts, label=texts, position=positions, **attributes)


def sections(kind: str) -> st.SearchStrategy[Section]:
    """A section of the kind with few devices; its listing in any state that a listing has."""
    listings = st.one_of(
        st.builds(Value, value=some_texts, sources=some_texts),
        st.builds(Absent, reason=texts, sources=some_texts),
        st.builds(Unreadable, error=texts, advice=texts, sources=some_texts),
    )
    few = st.lists(devices(kind), max_size=2).map(tuple)
    return st.builds(Section, kind=st.just(kind), listing=listings, devices=few)


inventories = (
    st.lists(st.sampled_from(list(KINDS)), max_size=3, unique=True)
    .flatmap(lambda kinds: st.tuples(*map(sections, kinds)))
    .map(lambda parts: Inventory(sections=parts))
)
moments = st.builds(Moment, text=texts, source=texts)
signatures = st.builds(
    ProfileSignature,
    state=st.sampled_from(SignatureState),
    lead=texts,
    version=texts,
    on=texts,
    newer=texts,
    reason=texts,
)
sources = st.builds(SourceFile, name=texts, revision=texts, digest=texts)
entries = st.builds(
    Entry,
    title=texts,
    meaning=texts,
    impact=texts,
    advice=texts,
    caution=texts,
    question=texts,
    answerable=st.booleans(),
)
rules = st.sampled_from([f"{kind}.presence" for kind in KINDS]) | texts
findings = st.builds(
    Finding,
    rule=rules,
    subject=texts,
    label=texts,
    weight=st.sampled_from(Weight),
    outcome=st.sampled_from(Outcome),
    expected=texts,
    found=texts,
    origin=texts,
    evidence=some_texts,
    answerable=st.booleans(),
    answer=st.none()
    | st.builds(
        Answer,
        reply=st.sampled_from(Reply),
        by=texts,
        reason=texts,
        at=st.none() | moments,
        attempt=st.integers(0, 99),
    ),
    concession=st.none()
    | st.builds(
        Concession, by=texts, reason=texts, at=st.none() | moments, attempt=st.integers(0, 99)
    ),
    connection=texts,
)
omissions = st.lists(st.builds(Omission, what=texts, reason=texts), max_size=2).map(tuple)
order_facts = st.builds(
    OrderFacts,
    parts=st.lists(
        st.builds(PartChange, kind=texts, is_fitted=st.booleans(), part_number=texts, serial=texts),
        max_size=2,
    ).map(tuple),
    not_present=omissions,
    declined=omissions,
    firmware_password=st.sampled_from(["", "none", "known", "unknown"]),
    encryption=st.sampled_from(["", "none", "used", "unknown"]),
    recovery_key=st.sampled_from(["", "confirmed", "not confirmed"]),
)
earlier_attempts = st.builds(
    EarlierAttempt,
    attempt=st.integers(1, 99),
    revision=st.integers(1, 9),
    verdict=st.sampled_from([verdict.value for verdict in Verdict]),
    reasons=some_texts,
    reopened=some_texts,
    started=moments,
    digest=texts,
)
revisions = st.builds(
    Revision, number=st.integers(2, 9), change=texts, by=texts, at=moments, digest=texts
)
void_proofs = st.builds(VoidProof, rule=rules, subject=texts, said=texts, why=texts)
hand_back_items = st.builds(
    HandBackItem,
    title=texts,
    action=texts,
    value=texts,
    found=texts,
    is_scannable=st.booleans(),
    caution=texts,
)
circumstances = st.builds(
    Circumstances,
    agent=texts,
    rules=sources,
    profile=sources,
    work_order=st.none() | sources,
    order=texts,
    repairs=some_texts,
    attempt=st.integers(1, 99),
    medium=texts,
    kernel=texts,
    evidence_digest=texts,
    readings=st.integers(0, 10_000),
    started=moments,
    finished=moments,
    profile_set=st.none() | sources,
    profile_signature=signatures,
    repair_map=st.none() | sources,
    handling=st.builds(
        Handling, operator=texts, station=texts, stick=texts, stick_build=texts, label=texts
    ),
    order_facts=order_facts,
    reopened=some_texts,
    is_draft=st.booleans(),
)
steps = st.builds(Step, title=texts, action=texts, rules=st.lists(rules, max_size=2).map(tuple))
reports = st.builds(
    Report,
    verdict=st.sampled_from(Verdict),
    reasons=some_texts,
    first_steps=st.lists(steps, max_size=3).map(tuple),
    circumstances=circumstances,
    inventory=inventories,
    findings=st.lists(findings, max_size=3).map(tuple),
    words=st.dictionaries(rules, entries, max_size=3),
    reader_microseconds=st.dictionaries(texts, st.integers(0, 10**9), max_size=3),
    redacted=st.booleans(),
    unanswered=st.lists(st.builds(Unanswered, question=texts, error=texts), max_size=2).map(tuple),
    hand_back=st.none()
    | st.builds(HandBack, items=st.lists(hand_back_items, max_size=2).map(tuple), withheld=texts),
    earlier=st.lists(earlier_attempts, max_size=2).map(tuple),
    revisions=st.lists(revisions, max_size=2).map(tuple),
    void=st.lists(void_proofs, max_size=2).map(tuple),
)
"""Any report: records that fit their types and nothing more."""


# A text of choice in every place.


def with_texts(record: T, change: Callable[[str], str]) -> T:
    """The record, and all records, lists and mappings in it, with every text changed.

    The kind of a section stays, since there are no others.
    """
    if isinstance(record, str):
        return change(record)
    if isinstance(record, tuple):
        return tuple(with_texts(part, change) for part in record)
    if isinstance(record, dict):
        return {with_texts(key, change): with_texts(part, change) for key, part in record.items()}
    if not is_dataclass(record) or isinstance(record, Enum | type):
        return record
    kept = {"kind"} if isinstance(record, Section) else set()
    return replace(
        record,
        **{
            field.name: with_texts(getattr(record, field.name), change)
            for field in fields(record)
            if field.name not in kept
        },
    )
