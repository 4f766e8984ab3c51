"""What every form of a report tells in the same words: verdict, titles, symbols and counts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final, assert_never

from closeout.model.expectation import Weight
from closeout.model.finding import Finding, Outcome, Reply
from closeout.model.frozen import frozen
from closeout.model.naming import name_finding
from closeout.model.profile_signature import ProfileSignature, SignatureState
from closeout.model.report import Report, Step
from closeout.model.verdict import UNPROVEN, Verdict, is_open

KIND_TITLES: Final[Mapping[str, str]] = {
    "system": "Unit",
    "board": "System board",
    "chassis": "Chassis",
    "bios": "System firmware",
    "oem_strings": "Maker's strings",
    "identity_views": "Two views of the identity",
    "firmware": "Firmware state",
    "licence": "Licence table",
    "firmware_resource": "Firmware that can be updated",
    "firmware_password": "Firmware passwords",
    "tpm": "TPM",
    "processor": "Processor",
    "main_memory": "Memory",
    "memory_module": "Memory modules",
    "drive": "Drives",
    "storage_controller": "Storage controllers",
    "card_reader": "Card readers",
    "display": "Displays",
    "backlight": "Backlight",
    "keyboard": "Keyboards",
    "keyboard_light": "Keyboard light",
    "touchpad": "Touchpad",
    "pointing_stick": "Pointing stick",
    "mouse": "Mice and plain pointers",
    "touchscreen": "Touchscreen",
    "pen": "Pen digitizer",
    "button": "Buttons and hotkeys",
    "lid_switch": "Lid switch",
    "tablet_switch": "Tablet mode switch",
    "battery": "Battery packs",
    "adapter": "Adapters",
    "peripheral_battery": "Batteries of peripherals",
    "temperature": "Temperatures",
    "fan": "Fans",
    "accelerometer": "Accelerometers",
    "light_sensor": "Light sensors",
    "proximity_sensor": "Proximity sensors",
    "hinge_angle": "Hinge angle",
    "wifi": "Wi-Fi",
    "bluetooth": "Bluetooth",
    "wwan": "Mobile broadband",
    "wired_network": "Wired network",
    "addresses": "Network addresses",
    "regulatory": "Radio rules",
    "type_c_port": "USB-C ports",
    "usb_port": "USB ports",
    "thunderbolt": "Thunderbolt and USB4",
    "nfc": "NFC",
    "sound_card": "Sound cards",
    "sound_codec": "Sound codecs",
    "sound_device": "Sound devices",
    "camera": "Cameras",
    "smart_card_reader": "Smart card readers",
    "pci_device": "PCI devices",
    "usb_device": "USB devices",
    "bus_device": "Parts on inner buses",
    "input_bus_device": "Devices on the input buses",
    "clock": "Clock",
    "pci_faults": "Errors on the PCI bus",
    "memory_controller": "Memory errors",
    "machine_checks": "Machine checks",
    "kernel_log": "Kernel log",
    "kernel_message": "Messages of the kernel",
    "second_opinions": "Second opinions",
    "order": "Work order",
    "option": "Options of the model",
    "connection": "Connections that the repair disturbed",
}

VERDICT_SYMBOLS: Final[Mapping[Verdict, str]] = {
    Verdict.RELEASE: "✓",
    Verdict.HOLD: "✗",
    Verdict.UNDECIDED: "?",
}
OUTCOME_SYMBOLS: Final[Mapping[Outcome, str]] = {
    Outcome.PASS: "✓",
    Outcome.FAIL: "✗",
    Outcome.REVIEW: "?",
    Outcome.UNREAD: "⊘",
    Outcome.UNCOVERED: "○",
}


def headline(report: Report) -> str:
    """The verdict as a heading; a concession is part of it."""
    if is_conceded(report):
        return "Release with concession"
    return report.verdict.value.capitalize()


def is_conceded(report: Report) -> bool:
    """It is released, and a failed demand was accepted in writing."""
    conceded = any(finding.concession for finding in report.findings)
    return report.verdict is Verdict.RELEASE and conceded


def name_attempt(report: Report, between: str = ", ") -> str:
    """`WO-1, attempt 2, revision 3`; a draft is none."""
    facts = report.circumstances
    attempt = "draft" if facts.is_draft else f"attempt {facts.attempt}"
    revision = [f"revision {report.revision}"] if report.revision > 1 else []
    return between.join([facts.order or "none", attempt, *revision])


def in_short(report: Report) -> tuple[str, ...]:
    """Verdict, order with attempt, and the first reason if there is any."""
    order = f"order {name_attempt(report, ' ')}"
    return (report.verdict.value.upper(), order, *report.reasons[:1])


def meaning_of(verdict: Verdict) -> str:
    """What the verdict says about the unit, in a sentence."""
    match verdict:
        case Verdict.RELEASE:
            return "Every demand that must be met is met, answered or conceded."
        case Verdict.HOLD:
            return "The unit must not go back yet: a demand that must be met is not."
        case Verdict.UNDECIDED:
            return "Not proven either way: something that must be known is not known yet."
        case _:
            assert_never(verdict)


def name_of(report: Report, finding: Finding) -> str:
    """What the finding is called; its rule where the report has no words for it."""
    entry = report.words.get(finding.rule)
    return name_finding(finding, entry) if entry else f"{finding.rule} ({finding.label})"


def number_of(report: Report, finding: Finding) -> int:
    """By which number a finding is answered or conceded; it is one of the report's own."""
    places = enumerate(report.findings, start=1)
    return next(number for number, each in places if each is finding)


def kind_title(kind: str) -> str:
    """What people call a kind of device."""
    return KIND_TITLES.get(kind, kind)


def say_signature(signature: ProfileSignature) -> str:
    """Whether the depot's lead signed the profile that the unit was judged by."""
    signed = f"signed by {signature.lead} on {signature.on}, set {signature.version}"
    match signature.state:
        case SignatureState.SIGNED:
            return f"profile {signed}"
        case SignatureState.SUPERSEDED:
            return f"PROFILE SUPERSEDED: {signed}; signed since: {signature.newer}"
        case SignatureState.UNSIGNED:
            return f"PROFILE NOT SIGNED: {signature.reason}"
        case SignatureState.NOT_TOLD:
            return "whether the profile is signed is not told"


def findings_to_see(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Those that are not a pass, musts first, each weight in the order of the report."""
    weights = list(Weight)
    unproven = [finding for finding in findings if finding.outcome is not Outcome.PASS]
    return tuple(sorted(unproven, key=lambda finding: weights.index(finding.weight)))


def is_answered_yes(finding: Finding) -> bool:
    """A person has seen that it is good, and may say so."""
    answer = finding.answer
    is_yes = answer is not None and answer.reply is Reply.YES
    return is_yes and finding.outcome in UNPROVEN and not is_open(finding)


@frozen
class AnsweredYes:
    """What one person has seen to be good, for one reason."""

    by: str
    reason: str
    names: tuple[str, ...]


def group_answers(
    report: Report, findings: Iterable[Finding]
) -> tuple[tuple[AnsweredYes, ...], tuple[Finding, ...]]:
    """Plain yeses together by who said them and why, and the findings of which more was said."""
    yes: dict[tuple[str, str], list[str]] = {}
    rest: list[Finding] = []
    for finding in findings:
        if finding.answer and is_answered_yes(finding) and finding.concession is None:
            key = (finding.answer.by, finding.answer.reason)
            yes.setdefault(key, []).append(name_of(report, finding))
        else:
            rest.append(finding)
    groups = tuple(
        AnsweredYes(by=by, reason=reason, names=tuple(names)) for (by, reason), names in yes.items()
    )
    return groups, tuple(rest)


def count_findings(findings: Iterable[Finding]) -> dict[Weight, dict[Outcome, int]]:
    """How many findings there are of each weight and outcome, zeros included."""
    counts = {weight: dict.fromkeys(Outcome, 0) for weight in Weight}
    for finding in findings:
        counts[finding.weight][finding.outcome] += 1
    return counts


def caution_of(report: Report, step: Step) -> str:
    """What can hurt while the step is done; empty where nothing can.

    What an earlier step warns of in the same words is only pointed at.
    """
    for number, earlier in enumerate(report.first_steps, start=1):
        if earlier == step:
            break
        if step.caution and earlier.caution == step.caution:
            return f"as for {number}."
    return step.caution


def cautions(report: Report) -> tuple[tuple[str, str], ...]:
    """Title and caution of every rule of a finding that is not a pass and can hurt."""
    rules = dict.fromkeys(finding.rule for finding in findings_to_see(report.findings))
    entries = [report.words[rule] for rule in rules if rule in report.words]
    return tuple((entry.title, entry.caution) for entry in entries if entry.caution)
