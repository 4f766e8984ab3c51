"""What the page shows of each kind of device, in words."""

from __future__ import annotations

from collections.abc import Iterable

from closeout.model.finding import Finding
from closeout.model.frozen import frozen
from closeout.model.inventory import KINDS, Inventory
from closeout.model.reading import Value
from closeout.report import description, story


@frozen
class DeviceView:
    """One device with all its readings in words."""

    label: str
    place: str
    position: str
    lines: tuple[description.Line, ...]


@frozen
class ClassView:
    """One kind of device: the findings about it, and what was read of it.

    An empty one was listed, has no device, and nobody asked for one.
    """

    kind: str
    title: str
    remark: str
    findings: tuple[Finding, ...]
    devices: tuple[DeviceView, ...]
    is_empty: bool


def view_classes(inventory: Inventory, findings: Iterable[Finding]) -> tuple[ClassView, ...]:
    """Every section with its findings; a finding about no section has a class of its own."""
    by_kind: dict[str, list[Finding]] = {section.kind: [] for section in inventory.sections}
    for finding in findings:
        by_kind.setdefault(finding.kind, []).append(finding)
    return tuple(
        _view_class(inventory, kind, tuple(about_it)) for kind, about_it in by_kind.items()
    )


def _view_class(inventory: Inventory, kind: str, findings: tuple[Finding, ...]) -> ClassView:
    section = inventory.section(kind)
    return ClassView(
        kind=kind,
        title=story.kind_title(kind),
        remark=description.describe_listing(section) if kind in KINDS else "",
        findings=findings,
        is_empty=isinstance(section.listing, Value) and not section.devices and not findings,
        devices=tuple(
            DeviceView(
                label=device.label,
                place=device.place,
                position=device.position.value,
                lines=description.describe_device(section, index),
            )
            for index, device in enumerate(section.devices)
        ),
    )
