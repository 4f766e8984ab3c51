"""What a child says on its pipe, and that it keeps nothing of its parent's."""

import os

from closeout.kernel.crew_child import Wire
from closeout.kernel.record import Kind, Question, Record
from closeout.kernel.record_line import decode_question, decode_record

QUESTION = Question(kind=Kind.READ, text="sys/odd/\udcff\nname")


def test_a_wire_tells_question_record_and_end() -> None:
    reading, writing = os.pipe()
    record = Record(question=QUESTION, answer=b"\xff" * 9, microseconds=3)
    wire = Wire(writing)
    wire.asked(QUESTION)
    wire.answered(record)
    wire.through()
    os.close(writing)
    with os.fdopen(reading, encoding="ascii") as pipe:
        asked, answered, through = pipe.read().splitlines()
    assert asked[0] == "?"
    assert decode_question(asked[1:]) == QUESTION
    assert answered[0] == "="
    assert decode_record(answered[1:]) == record
    assert through == "."
