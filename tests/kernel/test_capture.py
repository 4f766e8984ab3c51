"""A run recorded in rounds, from a folder, from a machine, and the same on replay."""

import time
from collections.abc import Sequence
from functools import partial
from pathlib import Path

import pytest

from closeout.kernel.capture import Conditions, record_folder, record_live
from closeout.kernel.evidence import Evidence
from closeout.kernel.evidence_file import decode_evidence, digest_evidence, encode_evidence
from closeout.kernel.failure import ReadError
from closeout.kernel.record import Kind, Question, put
from closeout.kernel.recorded import RecordedTree, replay
from closeout.kernel.task import Task
from closeout.kernel.tree import KernelTree
from closeout.model.moment import Moment
from strategies.drawn_tree import DrawnTree

PACKS = "sys/class/power_supply"
FILES: dict[str, bytes | int] = {
    "proc/sys/kernel/osrelease": b"6.1.0-test\n",
    f"{PACKS}/BAT0/status": b"Full\n",
    f"{PACKS}/BAT1/status": b"Charging\n",
}


def find(tree: KernelTree) -> tuple[str, ...]:
    return tree.names(PACKS)


def read(place: str, tree: KernelTree) -> bytes:
    return tree.read(f"{PACKS}/{place}/status")


def find_round(_: RecordedTree) -> Sequence[Task]:
    return [Task(name="battery", ask=find)]


def read_round(tree: RecordedTree) -> Sequence[Task]:
    return [Task(name="battery", ask=partial(read, place)) for place in find(tree)]


def conditions(**changes: object) -> Conditions:
    moments = iter(("2026-01-01T00:00:00Z", "2026-01-01T00:00:09Z"))
    given: dict[str, object] = {
        "agent": "1.2.3",
        "clock": time.monotonic_ns,
        "moment": lambda: Moment(text=next(moments), source="network"),
    }
    return Conditions(**(given | changes))  # type: ignore[arg-type]  # the names are the fields'


def unit(root: Path) -> Path:
    for path, content in FILES.items():
        (root / path).parent.mkdir(parents=True, exist_ok=True)
        (root / path).write_bytes(content if isinstance(content, bytes) else b"")
    return root


def answers(evidence: Evidence) -> dict[Question, object]:
    return {record.question: record.answer for record in evidence.records}


def test_a_folder_is_recorded_round_by_round(tmp_path: Path) -> None:
    evidence = record_folder(unit(tmp_path), [find_round, read_round], conditions())
    tree = replay(evidence)
    assert [read(place, tree) for place in find(tree)] == [b"Full\n", b"Charging\n"]
    assert len(evidence.records) == 4


def test_the_header_tells_the_circumstances(tmp_path: Path) -> None:
    header = record_folder(unit(tmp_path), [], conditions()).header
    assert header.agent == "1.2.3"
    assert header.source == "folder"
    assert header.kernel == "6.1.0-test"
    assert header.started == Moment(text="2026-01-01T00:00:00Z", source="network")
    assert header.finished == Moment(text="2026-01-01T00:00:09Z", source="network")
    assert header.unfinished == ()


def test_a_kernel_that_does_not_tell_its_release(tmp_path: Path) -> None:
    assert record_folder(tmp_path, [], conditions()).header.kernel == "could not be read: ENOENT"


def test_a_missing_root_is_recorded_as_it_failed(tmp_path: Path) -> None:
    evidence = record_folder(tmp_path / "missing", [find_round], conditions())
    with pytest.raises(ReadError) as caught:
        find(replay(evidence))
    assert caught.value.code == "ENOENT"


def test_a_fault_of_a_reader_ends_its_task_alone(tmp_path: Path) -> None:
    def faulty(tree: KernelTree) -> None:
        tree.names("sys")
        raise ZeroDivisionError

    def tasks(_: RecordedTree) -> Sequence[Task]:
        return [Task(name="faulty", ask=faulty), Task(name="battery", ask=find)]

    evidence = record_folder(unit(tmp_path), [tasks], conditions())
    assert find(replay(evidence)) == ("BAT0", "BAT1")
    assert replay(evidence).names("sys") == ("class",)


def test_progress_is_told_inline(tmp_path: Path) -> None:
    told: list[tuple[int, int, str]] = []

    def progress(done: int, total: int, name: str) -> None:
        told.append((done, total, name))

    record_folder(unit(tmp_path), [find_round, read_round], conditions(progress=progress))
    assert told[-2:] == [(1, 2, "battery"), (2, 2, "battery")]


@pytest.mark.usefixtures("lone")
@pytest.mark.filterwarnings("ignore:.*fork:DeprecationWarning")
def test_live_and_folder_record_the_same(tmp_path: Path) -> None:
    rounds = [find_round, read_round]
    live = record_live(rounds, conditions(), DrawnTree(files=FILES))
    folder = record_folder(unit(tmp_path), rounds, conditions())
    assert live.header.source == "live"
    assert answers(live) == answers(folder)


@pytest.mark.usefixtures("lone")
@pytest.mark.filterwarnings("ignore:.*fork:DeprecationWarning")
def test_a_run_out_of_time_says_who_did_not_finish() -> None:
    evidence = record_live([find_round], conditions(run_seconds=0.0), DrawnTree(files=FILES))
    assert evidence.header.unfinished == ("battery",)
    assert evidence.header.kernel == "could not be read: DEADLINE"
    with pytest.raises(ReadError) as caught:
        find(replay(evidence))
    assert caught.value.code == "DEADLINE"


@pytest.mark.live
@pytest.mark.usefixtures("lone")
@pytest.mark.filterwarnings("ignore:.*fork:DeprecationWarning")
def test_every_class_of_this_machine_replays_as_it_was_recorded() -> None:
    def list_classes(tree: KernelTree) -> None:
        tree.names("sys/class")

    def list_devices(tree: RecordedTree) -> Sequence[Task]:
        return [
            Task(name=name, ask=partial(follow_links, f"sys/class/{name}"))
            for name in tree.names("sys/class")
        ]

    def follow_links(folder: str, tree: KernelTree) -> None:
        for name in tree.names(folder):
            put(tree, Question(kind=Kind.TARGET, text=f"{folder}/{name}"))

    rounds = [lambda _: [Task(name="classes", ask=list_classes)], list_devices]
    evidence = record_live(rounds, conditions())
    again = decode_evidence(encode_evidence(evidence))
    assert again == evidence
    assert digest_evidence(again) == digest_evidence(evidence)
    tree = replay(again)
    assert {question: put(tree, question) for question in answers(evidence)} == answers(evidence)
    assert len(evidence.records) > 10
