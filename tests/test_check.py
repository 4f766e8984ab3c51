"""Whole runs: recorded, replayed and judged, with states kept apart to the last line."""

import errno
import json
from dataclasses import replace

import pytest

from closeout.check import find_devices, judge_evidence, read_out
from closeout.cli.terms import load_demands
from closeout.kernel.evidence_file import decode_evidence, encode_evidence
from closeout.model.finding import Finding, Outcome
from closeout.model.inventory import KINDS
from closeout.model.reading import Blank, Filler, Unreadable, Value
from closeout.model.report import Report, Unanswered
from closeout.model.verdict import Verdict
from closeout.readers import READERS
from closeout.readers.reader import Reader
from closeout.report.as_json import render_json
from strategies.drawn_tree import Content, DrawnTree
from strategies.fen import HEALTHY
from strategies.notebook import draw_notebook
from strategies.runs import judge, record

SECRETS = ("product_serial", "product_uuid", "board_serial", "chassis_serial")
ROOT_ONLY = (
    *(f"sys/class/dmi/id/{name}" for name in SECRETS),
    "sys/firmware/dmi/tables/DMI",
    "sys/firmware/dmi/tables/smbios_entry_point",
    "sys/firmware/acpi/tables/MSDM",
)


def finding(report: Report, rule: str) -> Finding:
    (found,) = [one for one in report.findings if one.rule == rule]
    return found


def redrawn(changes: dict[str, Content | None]) -> DrawnTree:
    """The healthy notebook with files changed, or taken away where the change is None."""
    tree = draw_notebook(HEALTHY)
    files = {**tree.files, **changes}
    kept = {path: content for path, content in files.items() if content is not None}
    return replace(tree, files=kept)


def test_the_readers_are_one_for_each_kind_in_their_order() -> None:
    assert [reader.kind for reader in READERS] == list(KINDS)


def test_a_healthy_notebook_is_released_by_the_profile_for_any() -> None:
    report = judge(record(draw_notebook(HEALTHY)))
    assert report.verdict is Verdict.RELEASE
    assert report.circumstances.profile.name == "any-notebook"
    assert [one for one in report.findings if one.outcome is not Outcome.PASS] == []
    assert report.first_steps == ()
    assert report.circumstances.medium == "stick, build 2026.11-1"
    assert report.circumstances.kernel == "Linux 6.12.0-demo"


def test_a_user_without_rights_gets_undecided_and_is_told_to_run_as_root() -> None:
    """An unreadable serial is never a blank one."""
    tree = redrawn(dict.fromkeys(ROOT_ONLY, errno.EACCES))
    report = judge(record(tree))
    assert report.verdict is Verdict.UNDECIDED
    (system,) = report.inventory.section("system").devices
    for name in ("serial", "uuid"):
        reading = getattr(system, name)
        assert isinstance(reading, Unreadable)
        assert reading.error == "EACCES"
        assert finding(report, f"system.{name}").outcome is Outcome.UNREAD
    assert "run as root" in report.first_steps[0].action
    assert isinstance(system.product, Value)


def test_a_unit_without_smbios_is_unread_and_never_blank() -> None:
    tree = draw_notebook(HEALTHY)
    files = {path: content for path, content in tree.files.items() if "/dmi/" not in path}
    report = judge(record(replace(tree, files=files)))
    assert report.verdict is Verdict.UNDECIDED
    assert report.inventory.section("system").devices == ()
    assert finding(report, "system.serial").outcome is Outcome.UNREAD
    assert not any("blank" in one.found for one in report.findings)


@pytest.mark.parametrize("folders", [(), ("sys",), ("sys/class", "proc")])
def test_an_empty_root_is_undecided_and_not_zero_of_everything(folders: tuple[str, ...]) -> None:
    report = judge(record(DrawnTree(folders=folders)))
    assert report.verdict is Verdict.UNDECIDED
    outcomes = {one.outcome for one in report.findings}
    assert outcomes == {Outcome.UNREAD}


def test_a_new_board_shows_blank_and_filler_apart() -> None:
    plan = replace(HEALTHY, serial="   ", uuid=None, product="To be filled by O.E.M.", licence=None)
    report = judge(record(draw_notebook(plan)))
    assert report.verdict is Verdict.HOLD
    (system,) = report.inventory.section("system").devices
    assert isinstance(system.serial, Blank)
    assert isinstance(system.uuid, Blank)
    assert isinstance(system.product, Filler)
    assert "blank" in finding(report, "system.serial").found
    assert "filler 'To be filled by O.E.M.'" in finding(report, "system.product").found


@pytest.mark.parametrize("unset", [b"\xff" * 16, bytes(16)])
def test_a_uuid_that_the_kernel_hides_is_blank_from_the_kernels_view_alone(unset: bytes) -> None:
    plan = replace(HEALTHY, uuid=None, unset_uuid=unset)
    tree = draw_notebook(plan)
    files = {path: c for path, c in tree.files.items() if "sys/firmware/dmi" not in path}
    report = judge(record(replace(tree, files=files)))
    (system,) = report.inventory.section("system").devices
    assert isinstance(system.uuid, Blank)
    assert report.verdict is Verdict.HOLD


def test_two_views_that_differ_are_a_finding() -> None:
    tree = redrawn({"sys/class/dmi/id/product_serial": b"OTHER123\n"})
    report = judge(record(tree))
    found = finding(report, "identity_views.disagreements")
    assert found.outcome is Outcome.FAIL
    assert "OTHER123" in found.found
    assert report.verdict is Verdict.RELEASE


def test_replayed_evidence_gives_the_same_report_byte_for_byte() -> None:
    evidence = record(draw_notebook(HEALTHY))
    again = decode_evidence(encode_evidence(evidence))
    assert again == evidence
    assert render_json(judge(again)) == render_json(judge(evidence))


def test_durations_never_reach_a_finding() -> None:
    evidence = record(draw_notebook(HEALTHY))
    slow = replace(
        evidence, records=tuple(replace(one, microseconds=999) for one in evidence.records)
    )
    assert judge(slow).findings == judge(evidence).findings
    assert sum(judge(slow).reader_microseconds.values()) > 0


def test_a_question_never_recorded_is_not_a_pass() -> None:
    evidence = record(draw_notebook(HEALTHY))
    kept = tuple(one for one in evidence.records if "smbios" not in one.question.text)
    kept = tuple(one for one in kept if "/dmi/" not in one.question.text)
    report = judge(replace(evidence, records=kept))
    assert report.verdict is Verdict.UNDECIDED
    assert "NOT_RECORDED" in finding(report, "system.serial").found


def test_a_fault_in_a_reader_costs_its_kind_and_says_so() -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError

    evidence = record(draw_notebook(HEALTHY))
    readers = [
        replace(reader, read=broken)
        if reader.kind == "system"
        else replace(reader, find=broken)
        if reader.kind == "battery"
        else reader
        for reader in READERS
    ]
    readout = read_out(evidence, readers)
    for kind in ("system", "battery"):
        listing = readout.inventory.section(kind).listing
        assert isinstance(listing, Unreadable)
        assert listing.error == "READER_FAULT"
    terms = load_demands(None, None).terms(readout.inventory, 1)
    assert judge_evidence(evidence, readout, terms).verdict is Verdict.UNDECIDED


def test_finding_devices_survives_any_reader(caplog: pytest.LogCaptureFixture) -> None:
    def broken(*_: object) -> None:
        raise KeyError("gone")

    reader = Reader(kind="battery", find=broken, read=broken)
    assert isinstance(find_devices(DrawnTree(), reader), Unreadable)
    assert caplog.records == []


def test_the_report_names_everything_it_rests_on() -> None:
    evidence = record(draw_notebook(HEALTHY))
    facts = json.loads(render_json(judge(evidence)))["circumstances"]
    assert facts["evidence_digest"]
    assert facts["profile"]["digest"]
    assert facts["rules"]["digest"]
    assert facts["started"]["source"] == "a test"


def test_the_report_names_every_question_without_an_answer() -> None:
    """Also where another file answered in its place; what is not there is an answer."""
    changes: dict[str, Content | None] = {
        "sys/firmware/dmi/tables/smbios_entry_point": errno.EIO,
        "sys/class/dmi/id/product_family": errno.ENOENT,
    }
    report = judge(record(redrawn(changes)))
    wanted = Unanswered(question="sys/firmware/dmi/tables/smbios_entry_point", error="EIO")
    assert report.unanswered == (wanted,)
