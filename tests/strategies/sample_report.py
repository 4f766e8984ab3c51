"""One report made by hand. Makers, models and numbers are invented."""

from dataclasses import replace
from typing import Any

from closeout.model.attribute import attributes_of
from closeout.model.catalogue import Entry
from closeout.model.device import Device, Position
from closeout.model.expectation import Weight
from closeout.model.finding import Answer, Concession, Finding, Outcome, Reply
from closeout.model.handling import (
    EarlierAttempt,
    Revision,
    VoidProof,
)
from closeout.model.inventory import KINDS, Inventory, Listing, Section
from closeout.model.moment import Moment
from closeout.model.reading import Absent, Blank, Filler, Reading, Unreadable, Value
from closeout.model.report import Report, Step, Unanswered
from closeout.model.verdict import Verdict
from strategies.sample_circumstances import sample_circumstances, sample_hand_back

CONCEDED = (
    "release with concession: Battery health (BAT0): expected at least 95 %, found 91 %; "
    "conceded by L. Arden: new pack on order, customer informed"
)
NO_SOURCE = "no such attribute on this unit"


def device(kind: str, place: str, label: str, **readings: Reading[Any] | object) -> Device:
    """A device with the readings given (plain values are wrapped); all others are absent."""
    content: dict[str, Any] = {
        name: _reading(readings[name], f"{place}/{name}")
        if name in readings
        else Absent(reason=NO_SOURCE, sources=(f"{place}/{name}",))
        for name in attributes_of(KINDS[kind])
    }
    unknown = set(readings) - set(content)
    assert not unknown, f"{kind} has no {unknown}"
    return KINDS[kind](place=place, label=label, position=Position.INTERNAL, **content)


def section(kind: str, *devices: Device, listing: Listing | None = None) -> Section:
    """A section that was listed, with these devices, unless another listing is given."""
    listed = Value(value=tuple(part.place for part in devices), sources=(f"sys/class/{kind}",))
    return Section(kind=kind, listing=listing or listed, devices=devices)


def finding(rule: str, outcome: Outcome, **changes: object) -> Finding:
    """A must about nothing in particular, with what a test changes in it."""
    plain = Finding(
        rule=rule,
        subject=rule.split(".", maxsplit=1)[0],
        label=rule.split(".", maxsplit=1)[0],
        weight=Weight.MUST,
        outcome=outcome,
        expected="a value of its own",
        found="nothing",
        origin="any-notebook 1.0",
        evidence=("sys/class/dmi/id",),
        answerable=False,
        answer=None,
        concession=None,
    )
    return replace(plain, **changes)


def entry(title: str, **changes: object) -> Entry:
    """A catalogue entry that says something in every part."""
    plain = Entry(
        title=title,
        meaning=f"{title}: the unit does not show what it should.",
        impact="The customer would find it on the first day.",
        advice=f"Look at what belongs to it ({title.lower()}), reseat it and check again.",
        caution="",
        question="",
        answerable=False,
    )
    return replace(plain, **changes)


def sample_report() -> Report:
    """A unit on hold after a new system board: a ribbon left out, identity not programmed."""
    findings = sample_findings()
    return Report(
        verdict=Verdict.HOLD,
        reasons=(
            "System serial number (system): expected LQ7K20418, found filler 'Default string'",
            "Panel is there (display): expected present, found none",
            CONCEDED,
        ),
        first_steps=(
            Step(
                title="System serial number",
                action="Program the serial number with the maker's service tool, restart, "
                "and check again.",
                rules=("system.serial",),
            ),
            Step(
                title="Panel is there",
                action="Open the board side of the panel cable, look at both latches, reseat it "
                "square, and check again.",
                rules=("display.presence",),
                caution="Take the pack off the board before the panel cable is touched.",
            ),
            Step(
                title="Read what could not be read",
                action="could not be read (EACCES): run as root",
                rules=("licence.checksum_good",),
            ),
        ),
        circumstances=sample_circumstances(),
        inventory=sample_inventory(),
        findings=findings,
        words=sample_words(),
        reader_microseconds={"identity": 8_120, "battery": 22_480, "display": 3_911},
        redacted=False,
        unanswered=(
            Unanswered(question="sys/firmware/acpi/tables/MSDM", error="EACCES"),
            Unanswered(question="psutil sensors_battery", error="NOT_OFFERED"),
        ),
        hand_back=sample_hand_back(),
        earlier=(
            EarlierAttempt(
                attempt=1,
                revision=1,
                verdict="hold",
                reasons=("Touchpad: expected present, found none",),
                reopened=(),
                started=Moment(text="2025-03-13T16:40:01Z", source="network"),
                digest="ee" * 32,
            ),
        ),
        revisions=(
            Revision(
                number=2,
                change="finding 3, Health of the battery (BAT0): conceded.",
                by="L. Arden",
                at=Moment(text="2025-03-14T10:02:00Z", source="network"),
                digest="fa" * 32,
            ),
        ),
        void=(
            VoidProof(
                rule="touchpad.presence",
                subject="touchpad",
                said="answered yes by T. Okar: follows the finger",
                why="what was reopened may have changed it; look again",
            ),
        ),
    )


def sample_inventory() -> Inventory:
    """A few kinds in every state; the rest were listed and are empty."""
    filled = {part.kind: part for part in _sample_sections()}
    return Inventory(sections=tuple(filled.get(kind, section(kind)) for kind in KINDS))


def sample_findings() -> tuple[Finding, ...]:
    """Every outcome, every weight, an answer and a concession."""
    return (
        finding(
            "system.serial",
            Outcome.FAIL,
            label="system",
            expected="LQ7K20418",
            found="filler 'Default string': a placeholder of reference firmware",
            origin="WO-20417.toml",
        ),
        finding(
            "display.presence",
            Outcome.FAIL,
            expected="present",
            found="none",
            connection="panel cable, board side",
        ),
        finding(
            "battery.health_percent",
            Outcome.FAIL,
            subject="LNXSYSTM:00/PNP0C0A:00",
            label="BAT0",
            expected="at least 95 %",
            found="91 %",
            concession=Concession(by="L. Arden", reason="new pack on order, customer informed"),
        ),
        finding(
            "licence.checksum_good",
            Outcome.UNREAD,
            label="MSDM",
            expected="yes",
            found="could not be read (EACCES): run as root",
        ),
        finding(
            "wifi.presence",
            Outcome.UNCOVERED,
            weight=Weight.SHOULD,
            expected="present",
            found="none; the bus shows Network controller 00:14.3 without a driver",
            answerable=True,
            answer=Answer(reply=Reply.YES, by="T. Okar", reason="seen in the firmware's list"),
        ),
        finding(
            "memory_module.speed_mts",
            Outcome.REVIEW,
            weight=Weight.SHOULD,
            label="Slot A",
            expected="3200 MT/s",
            found="2666 MT/s",
            answerable=True,
        ),
        finding("system.uuid", Outcome.PASS, found="4c4c4544-0031-3010-8035-b7c04f4e3032"),
        finding("system.manufacturer", Outcome.PASS, expected="Lumora", found="Lumora"),
        finding("pci_device.unbound", Outcome.PASS, weight=Weight.NOTE, expected="no", found="no"),
    )


def sample_words() -> dict[str, Entry]:
    """An entry for every rule of the sample."""
    return {
        "system.serial": entry(
            "System serial number",
            advice="Program the serial number with the maker's service tool, restart, check again.",
        ),
        "display.presence": entry(
            "Panel is there",
            caution="Take the pack off the board before the panel cable is touched.",
        ),
        "battery.health_percent": entry(
            "Battery health",
            caution="A swollen pack is not pressed flat: follow the maker's instructions.",
        ),
        "licence.checksum_good": entry("Licence table is sound"),
        "wifi.presence": entry(
            "Wi-Fi is there", question="Does the firmware list the card?", answerable=True
        ),
        "memory_module.speed_mts": entry(
            "Memory speed", question="Is this the module of the order?", answerable=True
        ),
        "system.uuid": entry("System UUID"),
        "system.manufacturer": entry("System maker"),
        "pci_device.unbound": entry("PCI device without a driver"),
    }


def _sample_sections() -> tuple[Section, ...]:
    filler = Filler(
        text="Default string",
        reason="a placeholder of reference firmware",
        sources=("sys/firmware/dmi/tables/DMI#1",),
    )
    no_rights = Unreadable(
        error="EACCES", advice="run as root", sources=("sys/firmware/acpi/tables/MSDM",)
    )
    return (
        section(
            "system",
            device(
                "system",
                "dmi/1",
                "system",
                manufacturer="Lumora",
                product="Quill 14",
                version=Blank(reason="only spaces", sources=("sys/firmware/dmi/tables/DMI#1",)),
                serial=filler,
                uuid="4c4c4544-0031-3010-8035-b7c04f4e3032",
                sku="LQ14-2F",
            ),
        ),
        section(
            "bios",
            device(
                "bios",
                "dmi/0",
                "firmware",
                vendor="Lumora",
                version="LQ14 v1.08",
                date="2024-11-02",
                rom_size_bytes=16 << 20,
            ),
        ),
        section(
            "board",
            device("board", "dmi/2", "board", manufacturer="Lumora", serial="B7Q-55102-0093"),
        ),
        section(
            "licence",
            device("licence", "acpi/MSDM", "MSDM", present=True, checksum_good=no_rights),
        ),
        section(
            "memory_module",
            device(
                "memory_module",
                "dmi/17.0",
                "Slot A",
                fitted=True,
                size_bytes=8 << 30,
                serial="77A1C302",
                speed_mts=2666,
            ),
            device("memory_module", "dmi/17.1", "Slot B", fitted=False),
        ),
        section("display", listing=Value(value=(), sources=("sys/class/drm",))),
        section(
            "battery",
            device(
                "battery",
                "LNXSYSTM:00/PNP0C0A:00",
                "BAT0",
                present=True,
                status="Discharging",
                manufacturer="Ostrava Cells",
                serial="OC-2231-7745",
                cycle_count=14,
                energy_full_uwh=47_320_000,
                energy_full_design_uwh=52_000_000,
                health_percent=91,
            ),
        ),
        section(
            "wifi",
            listing=Absent(reason="the kernel has no such file", sources=("sys/class/ieee80211",)),
        ),
        section("usb_device", listing=no_rights),
        section(
            "pci_device",
            device(
                "pci_device",
                "pci0000:00/0000:00:14.3",
                "00:14.3",
                ids="1f0e:02a1",
                class_code="028000",
                class_words="Network controller",
            ),
        ),
        section(
            "oem_strings",
            device("oem_strings", "dmi/11", "OEM strings", strings=("ASM-2025", "DOCK-READY")),
        ),
    )


def _reading(content: object, source: str) -> Reading[Any]:
    if isinstance(content, Value | Blank | Filler | Absent | Unreadable):
        return content
    return Value(value=content, sources=(source,))
