"""A report without personal data: serials, addresses and tokens masked wherever they occur."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any, Final, TypeVar, assert_never, cast

from closeout.model.attribute import attributes_of
from closeout.model.device import Device
from closeout.model.expectation import rule_id
from closeout.model.finding import Answer, Concession, Finding
from closeout.model.frozen import replace
from closeout.model.handling import HandBack, Omission, OrderFacts, VoidProof
from closeout.model.inventory import KINDS, Inventory, Listing, Section
from closeout.model.label_agreement import LABEL_RULE
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Absent, Blank, Filler, Reading, Unreadable, Value
from closeout.model.report import Circumstances, Report, SourceFile, Step
from closeout.report.veil import Veil, mask

PERSONAL_RULES: Final = frozenset(
    rule_id(kind, name)
    for kind, record in KINDS.items()
    for name, attribute in attributes_of(record).items()
    if attribute.personal
) | {LABEL_RULE}

OPENINGS: Final = (
    "a value of its own",
    "what the work order says",
    "text like ",
    "none",
    "one of ",
)
"""How the expectation of a personal attribute begins when it is not the wanted value itself."""

_QUOTED: Final = late_pattern(r"'([^']+)'|\"([^\"]+)\"")


def redact(report: Report) -> Report:
    """The report with personal attributes masked to their last four characters.

    At most half of a text is shown, and nothing of one below six characters. Masked values are
    sought in every other text of the report too, in either case and with and without the
    separators of addresses; the number of the order, digests, times and the catalogue's words
    stay as they are.
    """
    veil = Veil(_personal_texts(report))
    return replace(
        report,
        reasons=veil.over_all(report.reasons),
        first_steps=tuple(_redact_step(step, veil) for step in report.first_steps),
        circumstances=_redact_circumstances(report.circumstances, veil),
        inventory=_redact_inventory(report.inventory, veil),
        findings=tuple(_redact_finding(finding, veil) for finding in report.findings),
        redacted=True,
        unanswered=tuple(
            replace(each, question=veil.over(each.question)) for each in report.unanswered
        ),
        hand_back=_redact_hand_back(report.hand_back, veil),
        earlier=tuple(
            replace(each, reasons=veil.over_all(each.reasons)) for each in report.earlier
        ),
        revisions=tuple(replace(each, change=veil.over(each.change)) for each in report.revisions),
        void=tuple(_redact_void(each, veil) for each in report.void),
    )


def _personal_texts(report: Report) -> Iterator[str]:
    for section in report.inventory.sections:
        for device in section.devices:
            for name, attribute in attributes_of(type(device)).items():
                if attribute.personal:
                    yield from _texts_of(getattr(device, name))
    yield from filter(None, _texts_of_order(report))
    for finding in report.findings:
        if finding.rule in PERSONAL_RULES and not finding.expected.startswith(OPENINGS):
            yield finding.expected
        if finding.rule in PERSONAL_RULES and finding.expected.startswith("one of "):
            yield from finding.expected.removeprefix("one of ").split(", ")


def _texts_of_order(report: Report) -> Iterator[str]:
    """The label, the parts' serials and what is still to be typed."""
    facts = report.circumstances
    yield facts.handling.label
    yield from (part.serial for part in facts.order_facts.parts)
    if report.hand_back:
        yield from (item.value for item in report.hand_back.items)


def _texts_of(reading: Reading[object]) -> Iterator[str]:
    """What the reading says about the unit, with what its reason or advice quotes."""
    match reading:
        case Value(value=value):
            yield from _texts_of_value(value)
        case Filler(text=text, reason=reason):
            yield text
            yield from _quoted(reason)
        case Blank(reason=reason) | Absent(reason=reason):
            yield from _quoted(reason)
        case Unreadable(advice=advice):
            yield from _quoted(advice)
        case _:
            assert_never(reading)


def _texts_of_value(value: object) -> Iterator[str]:
    parts = cast("tuple[object, ...]", value) if isinstance(value, tuple) else (value,)
    for part in parts:
        yield str(part)
        yield from _quoted(str(part))


def _quoted(text: str) -> Iterator[str]:
    for single, double in _QUOTED.findall(text):
        yield single or double


def _redact_inventory(inventory: Inventory, veil: Veil) -> Inventory:
    return Inventory(sections=tuple(_redact_section(part, veil) for part in inventory.sections))


def _redact_section(section: Section, veil: Veil) -> Section:
    return Section(
        kind=section.kind,
        listing=_redact_listing(section.listing, veil),
        devices=tuple(_redact_device(device, veil) for device in section.devices),
    )


def _redact_listing(listing: Listing, veil: Veil) -> Listing:
    if isinstance(listing, Value):
        places, sources = veil.over_all(listing.value), veil.over_all(listing.sources)
        return Value(value=places, sources=sources)
    return _redact_no_value(listing, veil)


def _redact_device(device: Device, veil: Veil) -> Device:
    content: dict[str, Any] = {
        name: _redact_reading(getattr(device, name), veil, personal=attribute.personal)
        for name, attribute in attributes_of(type(device)).items()
    }
    return replace(device, place=veil.over(device.place), label=veil.over(device.label), **content)


def _redact_reading(reading: Reading[object], veil: Veil, *, personal: bool) -> Reading[object]:
    change = mask if personal else veil.over
    match reading:
        case Value(value=value):
            changed = _change_value(value, change, personal=personal)
            return Value(value=changed, sources=veil.over_all(reading.sources))
        case Filler(text=text):
            return replace(_redact_no_value(reading, veil), text=change(text))
        case _:
            return _redact_no_value(reading, veil)


def _change_value(value: object, change: Callable[[str], str], *, personal: bool) -> object:
    if isinstance(value, tuple):
        return tuple(change(str(part)) for part in cast("tuple[object, ...]", value))
    return change(str(value)) if personal or isinstance(value, str) else value


N = TypeVar("N", bound=Blank | Filler | Absent | Unreadable)


def _redact_no_value(reading: N, veil: Veil) -> N:
    sources = veil.over_all(reading.sources)
    if isinstance(reading, Unreadable):
        return replace(reading, advice=veil.over(reading.advice), sources=sources)
    return replace(reading, reason=veil.over(reading.reason), sources=sources)


def _redact_step(step: Step, veil: Veil) -> Step:
    return replace(
        step,
        title=veil.over(step.title),
        action=veil.over(step.action),
        caution=veil.over(step.caution),
    )


def _redact_circumstances(circumstances: Circumstances, veil: Veil) -> Circumstances:
    work_order = circumstances.work_order
    return replace(
        circumstances,
        work_order=None if work_order is None else _redact_source(work_order, veil),
        profile=_redact_source(circumstances.profile, veil),
        repairs=veil.over_all(circumstances.repairs),
        medium=veil.over(circumstances.medium),
        kernel=veil.over(circumstances.kernel),
        handling=replace(circumstances.handling, label=_mask_told(circumstances.handling.label)),
        order_facts=_redact_facts(circumstances.order_facts, veil),
    )


def _mask_told(text: str) -> str:
    """The text masked; what nobody told stays empty."""
    return mask(text) if text else ""


def _redact_facts(facts: OrderFacts, veil: Veil) -> OrderFacts:
    parts = [
        replace(part, serial=_mask_told(part.serial), part_number=veil.over(part.part_number))
        for part in facts.parts
    ]
    return replace(
        facts,
        parts=tuple(parts),
        not_present=tuple(_redact_omission(each, veil) for each in facts.not_present),
        declined=tuple(_redact_omission(each, veil) for each in facts.declined),
    )


def _redact_omission(omission: Omission, veil: Veil) -> Omission:
    return replace(omission, what=veil.over(omission.what), reason=veil.over(omission.reason))


def _redact_hand_back(hand_back: HandBack | None, veil: Veil) -> HandBack | None:
    if hand_back is None:
        return None
    items = [
        replace(
            item,
            value=_mask_told(item.value),
            found=veil.over(item.found),
            action=veil.over(item.action),
            is_scannable=False,
        )
        for item in hand_back.items
    ]
    return replace(hand_back, items=tuple(items))


def _redact_source(source: SourceFile, veil: Veil) -> SourceFile:
    return replace(source, name=veil.over(source.name))


def _redact_finding(finding: Finding, veil: Veil) -> Finding:
    own = veil.over_whole if finding.rule in PERSONAL_RULES else veil.over
    return replace(
        finding,
        subject=veil.over(finding.subject),
        label=veil.over(finding.label),
        expected=own(finding.expected),
        found=own(finding.found),
        origin=veil.over(finding.origin),
        evidence=veil.over_all(finding.evidence),
        answer=_redact_answer(finding.answer, veil),
        concession=_redact_concession(finding.concession, veil),
    )


def _redact_void(void: VoidProof, veil: Veil) -> VoidProof:
    return replace(
        void, subject=veil.over(void.subject), said=veil.over(void.said), why=veil.over(void.why)
    )


def _redact_answer(answer: Answer | None, veil: Veil) -> Answer | None:
    return None if answer is None else replace(answer, reason=veil.over(answer.reason))


def _redact_concession(concession: Concession | None, veil: Veil) -> Concession | None:
    return None if concession is None else replace(concession, reason=veil.over(concession.reason))
