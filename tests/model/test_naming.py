"""What findings are called."""

import pytest

from closeout.model.expectation import Weight
from closeout.model.finding import Finding, Outcome
from closeout.model.frozen import replace
from closeout.model.naming import name_finding
from strategies.demands import entry


@pytest.mark.parametrize(
    ("rule", "title", "label", "name"),
    [
        ("memory_module.presence", "Memory module", "memory_module", "Memory module"),
        ("usb_device.presence", "USB device", "fingerprint reader", "Fingerprint reader"),
        ("battery.health_percent", "Health of the battery", "BAT0", "Health of the battery (BAT0)"),
        (
            "memory_module.size_bytes",
            "Size of the memory module",
            "memory module in slot 2",
            "Size of the memory module in slot 2",
        ),
        ("drive.size_bytes", "Size of the drive", "drive", "Size of the drive"),
        ("drive.size_bytes", "Size of the drive", "drives", "Size of the drive (drives)"),
        ("drive.size_bytes", "Size of the drive", "", "Size of the drive ()"),
    ],
)
def test_name_of_a_finding(rule: str, title: str, label: str, name: str) -> None:
    finding = Finding(
        rule=rule,
        subject="a",
        label=label,
        weight=Weight.MUST,
        outcome=Outcome.FAIL,
        expected="",
        found="",
        origin="",
        evidence=(),
        answerable=False,
        answer=None,
        concession=None,
    )
    assert name_finding(finding, replace(entry(rule), title=title)) == name
