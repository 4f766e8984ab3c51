"""Drives that the storage mode hides are not missing, and drives that warn are not passed over."""

import pytest

from closeout.expect.catalogue import load_catalogue
from closeout.judge.demands import judge_inventory
from closeout.judge.gaps import describe_gap
from closeout.judge.steps import first_steps
from closeout.model.device import Device, Position
from closeout.model.expectation import Empty, Equals, Weight
from closeout.model.finding import Finding, Outcome
from closeout.model.inventory import Inventory
from closeout.model.reading import Absent
from closeout.model.verdict import Verdict, decide
from strategies.demands import PRESENT, expect, where, whole_catalogue
from strategies.devices import BLANK, DENIED, NOT_DRAWN, device, inventory

CATALOGUE = whole_catalogue()
HEALTH = expect("drive", "critical_warnings", Empty(), where=where(tells_health=True))


def controller(*, hides: object) -> Device:
    return device("storage_controller", "pci/0000:00:17.0", hides_drives=hides)


def only(unit: Inventory, *expectations: object) -> Finding:
    (finding,) = judge_inventory(unit, expectations, CATALOGUE)  # type: ignore[arg-type]
    return finding


def test_a_hidden_drive_is_uncovered_and_the_mode_is_named() -> None:
    finding = only(inventory(controller(hides=True)), expect("drive", "", PRESENT))
    assert finding.outcome is Outcome.UNCOVERED
    assert finding.found == (
        "none; storage mode changed: 0000:00:17.0 keeps its drives from this system"
    )


@pytest.mark.parametrize("hides", [False, DENIED, NOT_DRAWN])
def test_a_drive_is_missing_where_no_mode_hides_it(hides: object) -> None:
    finding = only(inventory(controller(hides=hides)), expect("drive", "", PRESENT))
    assert finding.outcome is Outcome.FAIL
    assert finding.found == "none"


def test_the_mode_goes_before_the_missing_driver() -> None:
    unbound = device(
        "pci_device",
        "pci/0000:00:17.0",
        class_code="010400",
        driver=Absent(reason="no driver is bound", sources=("driver",)),
    )
    told = describe_gap(inventory(controller(hides=True), unbound), "drive")
    assert told.startswith("storage mode changed")
    assert describe_gap(inventory(unbound), "drive") == (
        "the bus shows 0000:00:17.0 without a driver"
    )
    assert describe_gap(inventory(controller(hides=True)), "battery") == ""


def test_a_controller_of_its_own_is_hidden_too() -> None:
    unit = inventory(device("storage_controller", "a", hides_drives=True, mode="raid"))
    finding = only(unit, expect("storage_controller", "", PRESENT, where=where(mode="nvme")))
    assert finding.outcome is Outcome.UNCOVERED


def test_a_second_drive_that_hides_does_not_excuse_one_too_many() -> None:
    seen = (device("drive", name, state="live") for name in ("nvme0", "nvme1"))
    drives = (*seen, controller(hides=True))
    demand = expect("drive", "", type(PRESENT)(at_least=0, at_most=1))
    assert only(inventory(*drives), demand).outcome is Outcome.FAIL


def test_the_first_step_is_the_mode_and_never_the_socket() -> None:
    catalogue = load_catalogue()
    demand = expect("drive", "", PRESENT, connection="M.2 socket beside the battery")
    findings = judge_inventory(inventory(controller(hides=True)), [demand], catalogue)
    (step,) = first_steps(findings, catalogue)
    assert "Leave the drive in its socket" in step.action
    assert "Reseat" not in step.action
    assert "M.2" not in step.action
    assert "recovery key" in step.caution
    assert decide(findings) is Verdict.UNDECIDED


def test_everything_that_the_mode_hides_is_one_step() -> None:
    catalogue = load_catalogue()
    hides = expect("storage_controller", "hides_drives", Equals(value=False), Weight.SHOULD)
    demands = [expect("drive", "", PRESENT), HEALTH, hides]
    findings = judge_inventory(inventory(controller(hides=True)), demands, catalogue)
    (step,) = first_steps(findings, catalogue)
    assert step.rules == (
        "drive.presence",
        "drive.critical_warnings",
        "storage_controller.hides_drives",
    )


@pytest.mark.parametrize(
    ("warnings", "outcome", "verdict"),
    [
        ((), Outcome.PASS, Verdict.RELEASE),
        (("reliability degraded",), Outcome.FAIL, Verdict.HOLD),
        (DENIED, Outcome.UNREAD, Verdict.UNDECIDED),
        (NOT_DRAWN, Outcome.UNREAD, Verdict.UNDECIDED),
        (BLANK, Outcome.FAIL, Verdict.HOLD),
    ],
)
def test_a_drive_that_tells_its_health(
    warnings: object, outcome: Outcome, verdict: Verdict
) -> None:
    unit = inventory(device("drive", tells_health=True, critical_warnings=warnings))
    finding = only(unit, HEALTH)
    assert finding.outcome is outcome
    assert decide([finding]) is verdict


@pytest.mark.parametrize(
    "drives",
    [
        (),
        (device("drive", "sda", tells_health=False),),
        (device("drive", "sda", tells_health=DENIED),),
        (device("drive", "sdb", Position.EXTERNAL, tells_health=True, critical_warnings=()),),
    ],
    ids=["no drive", "none that tells", "not known", "only one outside"],
)
def test_where_no_drive_inside_tells_nothing_passes_in_silence(drives: tuple[Device, ...]) -> None:
    finding = only(inventory(*drives), HEALTH)
    assert finding.outcome is Outcome.UNREAD
    assert finding.answerable
    assert load_catalogue().entries["drive.critical_warnings"].answerable


def test_a_drive_that_cannot_tell_does_not_stand_in_the_way_of_one_that_can() -> None:
    drives = (
        device("drive", "mmcblk0", tells_health=False),
        device("drive", "nvme0", tells_health=True, critical_warnings=()),
    )
    assert only(inventory(*drives), HEALTH).outcome is Outcome.PASS


def test_where_the_mode_hides_the_drives_their_health_is_uncovered() -> None:
    finding = only(inventory(controller(hides=True)), HEALTH)
    assert finding.outcome is Outcome.UNCOVERED
    assert "there is no such device to look at; storage mode changed" in finding.found


def test_a_card_reader_without_a_driver_is_uncovered() -> None:
    host = device(
        "pci_device",
        "pci/0000:02:00.0",
        class_code="080501",
        driver=Absent(reason="no driver is bound", sources=("driver",)),
    )
    assert only(inventory(host), expect("card_reader", "", PRESENT)).outcome is Outcome.UNCOVERED


def test_a_mode_that_hides_drives_is_a_matter_of_its_own() -> None:
    demand = expect("storage_controller", "hides_drives", Equals(value=False), Weight.SHOULD)
    assert only(inventory(controller(hides=True)), demand).outcome is Outcome.FAIL
    assert only(inventory(controller(hides=False)), demand).outcome is Outcome.PASS
