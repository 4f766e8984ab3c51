"""How a person names a finding."""

import re
from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.judge.named_finding import find_finding
from closeout.judge.saying import RefusedError
from closeout.model.finding import Outcome
from strategies.reports import findings, texts
from strategies.sample_report import finding

FOUND = (
    finding("camera.presence", Outcome.FAIL),
    finding("drive.health", Outcome.FAIL, subject="pci/1", label="nvme0"),
    finding("drive.health", Outcome.FAIL, subject="pci/2", label="nvme1"),
    finding("usb_port.works", Outcome.FAIL, subject="usb1", label="left"),
    finding("usb_port.works", Outcome.FAIL, subject="usb1", label="left"),
)


@pytest.mark.parametrize(
    ("named", "number"),
    [
        ("1", 1),
        (" 3 ", 3),
        ("005", 5),
        ("camera.presence", 1),
        ("camera.presence@camera", 1),
        ("drive.health@pci/2", 3),
        ("drive.health@nvme0", 2),
    ],
)
def test_a_finding_goes_by_number_rule_or_rule_and_subject(named: str, number: int) -> None:
    assert find_finding(FOUND, named) == number


@pytest.mark.parametrize(
    ("named", "said"),
    [
        ("0", "there is no finding 0; they are 1 to 5"),
        ("6", "there is no finding 6; they are 1 to 5"),
        ("9" * 5000, "there is no finding 999999999; they are 1 to 5"),
        ("drive.health", "'drive.health' are several findings, 2, 3; give the number"),
        ("usb_port.works@usb1", "'usb_port.works@usb1' are several findings, 4, 5"),
        ("camera.presense", "no finding is called 'camera.presense'; did you mean camera.presence"),
        ("drive.health@nvme7", "did you mean"),
        ("drive.health@x", "; of drive.health the report has pci/1, pci/2"),
        ("", "no finding is called ''"),
        ("²", "no finding is called '²'"),
    ],
)
def test_what_names_no_one_finding_gets_the_nearest(named: str, said: str) -> None:
    with pytest.raises(RefusedError, match=re.escape(said)):
        find_finding(FOUND, named)


def test_a_report_without_findings_has_none_to_name() -> None:
    with pytest.raises(RefusedError, match="there is no finding 1; the report has none"):
        find_finding((), "1")


@given(st.lists(findings, max_size=4), texts | st.integers().map(str))
def test_any_name_is_one_finding_or_one_line(found: list[object], named: str) -> None:
    number = 1
    with suppress(RefusedError):
        number = find_finding(found, named)  # type: ignore[arg-type]  # the strategy builds them
    assert 1 <= number <= max(len(found), 1)
