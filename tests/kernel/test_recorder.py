"""What is recorded is what was answered, once, and comes back the same."""

import errno
from collections.abc import Callable
from functools import partial
from itertools import count

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.kernel.evidence import seal_journal
from closeout.kernel.evidence_file import decode_evidence, encode_evidence
from closeout.kernel.failure import ReadError, Reason
from closeout.kernel.record import Kind, Question, Record, put
from closeout.kernel.recorded import RecordedTree, replay
from closeout.kernel.recorder import Recorder
from closeout.kernel.secrecy import scrub_answer
from strategies.drawn_tree import DrawnTree
from strategies.trees import drawn_trees, headers, questions, questions_about


def ticks(step: int) -> Callable[[], int]:
    """A clock that goes on by the same step each time it is looked at."""
    return partial(next, count(0, step))


@given(tree=drawn_trees(), other=st.lists(questions(), max_size=3), data=st.data())
def test_replay_equals_the_run(tree: DrawnTree, other: list[Question], data: st.DataObject) -> None:
    recorder = Recorder(tree, ticks(1000))
    asked = data.draw(st.permutations(questions_about(tree))) + other
    answers = {question: put(recorder, question) for question in asked}
    evidence = seal_journal(data.draw(headers()), recorder.journal)
    again = replay(decode_evidence(encode_evidence(evidence)))
    assert {question: put(again, question) for question in asked} == answers
    assert answers == {
        question: scrub_answer(question, put(tree, question), None) for question in asked
    }


@given(tree=drawn_trees())
def test_a_question_never_asked_is_not_recorded(tree: DrawnTree) -> None:
    unasked = RecordedTree({})
    for question in questions_about(tree):
        answer = put(unasked, question)
        assert getattr(answer, "reason", None) is Reason.NOT_RECORDED


def test_not_recorded_is_neither_absent_nor_empty() -> None:
    with pytest.raises(ReadError) as caught:
        RecordedTree({}).names("sys/class/nvme")
    assert caught.value.code == "NOT_RECORDED"
    assert caught.value.number not in {errno.ENOENT, errno.ENOTDIR}


def test_one_question_has_one_answer() -> None:
    files: dict[str, bytes | int] = {"status": b"Charging\n"}
    tree = DrawnTree(files=files)
    recorder = Recorder(tree, ticks(1))
    first = recorder.read("status")
    files["status"] = b"Full\n"
    assert recorder.read("status") == first == b"Charging\n"
    assert tree.asked == ["status"]


def test_a_failure_is_one_answer_too() -> None:
    files: dict[str, bytes | int] = {"status": errno.EIO}
    recorder = Recorder(DrawnTree(files=files), ticks(1))
    with pytest.raises(ReadError):
        recorder.read("status")
    files["status"] = b"Full\n"
    with pytest.raises(ReadError) as caught:
        recorder.read("status")
    assert caught.value.number == errno.EIO


def test_the_same_path_is_another_question_as_listing_and_link() -> None:
    tree = DrawnTree(files={"a": b"x"}, links={"b": "a"})
    recorder = Recorder(tree, ticks(1))
    assert recorder.read("b") == b"x"
    assert recorder.target("b") == "a"
    with pytest.raises(ReadError):
        recorder.names("b")
    assert sorted(question.kind for question in recorder.journal) == [
        Kind.NAMES,
        Kind.READ,
        Kind.TARGET,
    ]


def test_durations_are_in_microseconds() -> None:
    recorder = Recorder(DrawnTree(files={"a": b""}), ticks(7_000))
    recorder.read("a")
    assert [record.microseconds for record in recorder.journal.values()] == [7]


def test_a_clock_that_goes_back_gives_no_negative_duration() -> None:
    recorder = Recorder(DrawnTree(files={"a": b""}), ticks(-5_000))
    recorder.read("a")
    assert [record.microseconds for record in recorder.journal.values()] == [0]


def test_time_is_summed_once_a_question_and_anew_when_rewound() -> None:
    status = Question(kind=Kind.READ, text="status")
    tree = RecordedTree({status: Record(question=status, answer=b"", microseconds=40)})
    tree.read("status")
    tree.read("status")
    with pytest.raises(ReadError):
        tree.read("other")
    assert tree.microseconds == 40
    assert tree.rewound().microseconds == 0


def test_watcher_hears_before_and_after() -> None:
    heard: list[object] = []

    class Listener:
        def asked(self, question: Question) -> None:
            heard.append(question)

        def answered(self, record: Record) -> None:
            heard.append(record)

    recorder = Recorder(DrawnTree(files={"a": b"x"}), ticks(0), watcher=Listener())
    recorder.read("a")
    recorder.read("a")
    question = Question(kind=Kind.READ, text="a")
    assert heard == [question, Record(question=question, answer=b"x", microseconds=0)]
