"""One run: readings to inventory, expectations to findings, findings to a report.

Everything after `ROUNDS` can be done again from evidence, anywhere: clock, host and paths come in
as arguments, so the same evidence under the same terms gives the same report.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import partial
from typing import TYPE_CHECKING, Final

from closeout import VERSION
from closeout.expect.merge import expectations_of
from closeout.expect.parts import parts_of
from closeout.expect.profile import Profile
from closeout.expect.work_order import WorkOrder
from closeout.judge.built_in import place_built_in
from closeout.judge.clock import hold_clocks
from closeout.judge.demands import in_order_of_weight, judge_inventory
from closeout.judge.hand_back import SERIAL, OrderedUnit, hand_back_of
from closeout.judge.kernel_log import sort_messages
from closeout.judge.steps import explain, first_steps
from closeout.kernel.evidence import Evidence
from closeout.kernel.evidence_file import digest_evidence
from closeout.kernel.failure import ReadError, Reason
from closeout.kernel.record import Failure, is_nothing_there
from closeout.kernel.recorded import replay
from closeout.kernel.task import Round, Task
from closeout.kernel.tree import KernelTree
from closeout.model.catalogue import Catalogue
from closeout.model.device import Device
from closeout.model.finding import Finding
from closeout.model.frozen import frozen, replace
from closeout.model.handling import EarlierAttempt, Handling, OrderFacts, VoidProof
from closeout.model.inventory import Inventory, Listing, Section
from closeout.model.label_agreement import LABEL_RULE
from closeout.model.log_rules import NO_RULES, LogRules
from closeout.model.profile_signature import ProfileSignature
from closeout.model.reading import Reading, Unreadable, Value, state_of
from closeout.model.repair_map import RepairMap
from closeout.model.report import Circumstances, Report, SourceFile, Unanswered
from closeout.model.verdict import decide
from closeout.readers import READERS
from closeout.readers.reader import Reader
from closeout.readers.start import Start, build_of, read_start

if TYPE_CHECKING:
    from closeout.judge.keep import Proofs

OUR_FAULT: Final = "READER_FAULT"
IDENTITY: Final = tuple(reader for reader in READERS if reader.kind == "system")
"""What is read first: which unit it is, and so by which profile it is judged."""


def _ask_identity(_: KernelTree) -> Sequence[Task]:
    tasks = [
        Task(name=reader.kind, ask=partial(read_section, reader=reader)) for reader in IDENTITY
    ]
    return [Task(name="start", ask=read_start), *tasks]


def _ask_listings(_: KernelTree) -> Sequence[Task]:
    return [Task(name=reader.kind, ask=reader.find) for reader in READERS]


def _ask_devices(tree: KernelTree) -> Sequence[Task]:
    return [
        Task(name=reader.kind, ask=partial(_ask_device, reader, place))
        for reader in READERS
        for place in _places(find_devices(tree, reader))
    ]


def _ask_device(reader: Reader, place: str, tree: KernelTree) -> Device:
    return reader.read(tree, place)


ROUNDS: Final[tuple[Round, ...]] = (_ask_identity, _ask_listings, _ask_devices)
"""What to record: which unit it is, then which devices there are, then each device on its own."""


@frozen
class Readout:
    """Everything that evidence says of the unit; `microseconds` is by kind of device."""

    inventory: Inventory
    start: Start
    microseconds: Mapping[str, int]


@frozen
class Terms:
    """What the unit is judged by, and as which attempt of its order.

    `repairs` are those of the order and those that the operator named; without any no map is
    needed.
    `earlier` are the attempts before it; `kept` what people said of the last of them, which still
    holds where the same is found and nothing was `reopened` that it rests on.
    """

    profile: Profile
    work_order: WorkOrder | None
    catalogue: Catalogue
    rules: SourceFile
    attempt: int
    log_rules: LogRules = NO_RULES
    repair_map: RepairMap | None = None
    repairs: tuple[str, ...] = ()
    handling: Handling = Handling()
    earlier: tuple[EarlierAttempt, ...] = ()
    reopened: tuple[str, ...] = ()
    is_draft: bool = False
    kept: Proofs | None = None
    profile_set: SourceFile | None = None
    signature: ProfileSignature = ProfileSignature()


def read_out(evidence: Evidence, readers: Sequence[Reader] = READERS) -> Readout:
    """The devices that the evidence shows, and how long each kind took to read."""
    tree = replay(evidence)
    start = read_start(tree)
    sections: list[Section] = []
    microseconds: dict[str, int] = {}
    for reader in readers:
        before = tree.microseconds
        sections.append(read_section(tree, reader))
        microseconds[reader.kind] = tree.microseconds - before
    inventory = hold_clocks(Inventory(sections=tuple(sections)), evidence.header.references)
    return Readout(inventory=inventory, start=start, microseconds=microseconds)


def find_devices(tree: KernelTree, reader: Reader) -> Listing:
    """The places of a kind; a fault in the reader itself makes the kind unreadable."""
    try:
        return reader.find(tree)
    except Exception as fault:  # noqa: BLE001 - one reader must never cost the others
        return _unread_listing(reader, fault)


def judge_evidence(evidence: Evidence, readout: Readout, terms: Terms) -> Report:
    """The report of one run."""
    inventory = place_built_in(readout.inventory, terms.profile.built_in)
    placed = replace(readout, inventory=sort_messages(inventory, _log_rules(terms)))
    asked: tuple[Finding, ...] = ()
    if terms.profile.options:
        terms, asked = _settle(placed.inventory, terms)
    judged = _judge(placed.inventory, terms)
    apart = (*asked, *_judge_label(terms))
    findings = in_order_of_weight((*apart, *judged)) if apart else judged
    if terms.kept is None:
        return report_findings(evidence, placed, terms, findings)
    from closeout.judge.keep import keep_proofs  # noqa: PLC0415 - only after rework

    kept = keep_proofs(findings, terms.kept)
    return report_findings(evidence, placed, terms, kept.findings, kept.void)


def _judge(inventory: Inventory, terms: Terms) -> tuple[Finding, ...]:
    expectations = expectations_of(terms.profile, terms.work_order, terms.repair_map, terms.repairs)
    parts = parts_of(terms.profile, terms.work_order)
    return judge_inventory(inventory, expectations, terms.catalogue, parts)


def _judge_label(terms: Terms) -> Iterator[Finding]:
    """The scanned label against the order, where the catalogue says that it is to be judged."""
    order = terms.work_order
    if order is not None and LABEL_RULE in terms.catalogue.entries:
        from closeout.judge.label import judge_label  # noqa: PLC0415 - only after a scan

        yield judge_label(terms.handling.label, str(order.unit[SERIAL]), order.order)


def _settle(inventory: Inventory, terms: Terms) -> tuple[Terms, tuple[Finding, ...]]:
    """The terms with one form of each option, and what a person must confirm of that."""
    from closeout.judge.options import (  # noqa: PLC0415 - few models have options
        Told,
        settle_options,
    )

    order = terms.work_order
    sku = str(order.unit.get(("system", "sku"), "")) if order else ""
    told = Told(
        choices=order.options if order else {},
        sku=sku,
        not_present=order.missing if order else frozenset(),
    )
    profile = terms.profile
    settled = settle_options(
        inventory, profile.expectations, profile.options, told, terms.catalogue
    )
    profile = replace(profile, expectations=settled.expectations)
    return replace(terms, profile=profile, catalogue=settled.catalogue), settled.findings


def _log_rules(terms: Terms) -> LogRules:
    """The shipped rules, with the lines that every unit of the model has."""
    return replace(terms.log_rules, harmless=terms.log_rules.harmless + terms.profile.harmless)


def report_findings(
    evidence: Evidence,
    readout: Readout,
    terms: Terms,
    findings: tuple[Finding, ...],
    void: tuple[VoidProof, ...] = (),
) -> Report:
    """The report that findings amount to; `void` is what was said before and holds no more."""
    verdict = decide(findings)
    catalogue = terms.catalogue
    rules = sorted({finding.rule for finding in findings})
    words = {rule: catalogue.entries[rule] for rule in rules}
    return Report(
        verdict=verdict,
        reasons=explain(verdict, findings, catalogue),
        first_steps=first_steps(findings, catalogue),
        circumstances=_circumstances(evidence, readout.start, terms),
        inventory=readout.inventory,
        findings=findings,
        words=words,
        reader_microseconds=readout.microseconds,
        redacted=False,
        unanswered=tuple(_find_unanswered(evidence)),
        hand_back=hand_back_of(findings, words, terms.repairs, _order_of(terms)),
        earlier=terms.earlier,
        void=void,
    )


def _order_of(terms: Terms) -> OrderedUnit:
    order, label = terms.work_order, terms.handling.label
    if order is None:
        return OrderedUnit(unit={}, facts=OrderFacts(), label=label)
    return OrderedUnit(unit=order.unit, facts=order.facts, label=label)


def _find_unanswered(evidence: Evidence) -> Iterator[Unanswered]:
    """What is not there is answered, and what a source never offers was no question to it."""
    for record in evidence.records:
        question, failure = record.question, record.answer
        if not isinstance(failure, Failure) or failure.reason is Reason.NOT_OFFERED:
            continue
        if not is_nothing_there(question, failure):
            error = ReadError(question.text, failure.number, failure.reason).code
            yield Unanswered(question=question.text, error=error)


def read_section(tree: KernelTree, reader: Reader) -> Section:
    """The devices of a kind; a fault in the reader itself makes the kind unreadable."""
    listing = find_devices(tree, reader)
    try:
        devices = tuple(reader.read(tree, place) for place in _places(listing))
    except Exception as fault:  # noqa: BLE001 - one reader must never cost the others
        return Section(kind=reader.kind, listing=_unread_listing(reader, fault), devices=())
    return Section(kind=reader.kind, listing=listing, devices=devices)


def _places(listing: Listing) -> Iterator[str]:
    if isinstance(listing, Value):
        yield from listing.value


def _unread_listing(reader: Reader, fault: Exception) -> Unreadable:
    advice = f"an error of closeout itself ({type(fault).__name__}); send in the evidence"
    return Unreadable(error=OUR_FAULT, advice=advice, sources=(reader.kind,))


def _circumstances(evidence: Evidence, start: Start, terms: Terms) -> Circumstances:
    order = terms.work_order
    header = evidence.header
    return Circumstances(
        agent=f"closeout {VERSION}",
        rules=terms.rules,
        profile=terms.profile.source,
        work_order=order.source if order else None,
        order=order.order if order else "",
        repairs=terms.repairs,
        attempt=terms.attempt,
        medium=_text(start.medium, lambda medium: medium),
        kernel=_text(start.kernel, lambda kernel: f"Linux {kernel}"),
        evidence_digest=digest_evidence(evidence),
        readings=len(evidence.records),
        started=header.started,
        finished=header.finished,
        repair_map=terms.repair_map.source if terms.repair_map else None,
        handling=replace(terms.handling, stick_build=build_of(start)),
        order_facts=order.facts if order else OrderFacts(),
        reopened=terms.reopened,
        is_draft=terms.is_draft,
        profile_set=terms.profile_set,
        profile_signature=terms.signature,
    )


def _text(reading: Reading[str], show: Callable[[str], str]) -> str:
    if isinstance(reading, Value):
        return show(reading.value)
    return f"not known ({state_of(reading)})"
