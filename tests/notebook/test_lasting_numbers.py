"""Two starts of one notebook number their chips otherwise, and tell the same."""

import pytest

from closeout.kernel.record import Answer, Kind, Question, Record
from notebook.lasting_numbers import lasting_numbers, renumber_answer, renumber_question

DRIVE = "sys/devices/pci0000:00/nvme/nvme0/{}"
BOARD = "sys/devices/pci0000:00/i2c-1/1-0048/hwmon/{}"


def start(drive: str, board: str) -> tuple[Record, ...]:
    """What is asked after a start that gives the chips these names."""
    asked: dict[Question, Answer] = {
        Question(kind=Kind.NAMES, text="sys/class/hwmon"): tuple(sorted((drive, board))),
        Question(kind=Kind.TARGET, text=f"sys/class/hwmon/{drive}"): DRIVE.format(drive),
        Question(kind=Kind.TARGET, text=f"sys/class/hwmon/{board}"): BOARD.format(board),
        Question(kind=Kind.READ, text=f"{BOARD.format(board)}/name"): b"lm75b hwmon9\n",
    }
    return tuple(
        Record(question=question, answer=answer, microseconds=1)
        for question, answer in asked.items()
    )


def told(records: tuple[Record, ...]) -> dict[Question, Answer]:
    numbers = lasting_numbers(records)
    return {
        renumber_question(one.question, numbers): renumber_answer(one.answer, numbers)
        for one in records
    }


@pytest.mark.parametrize(("drive", "board"), [("hwmon1", "hwmon0"), ("hwmon2", "hwmon10")])
def test_the_place_decides_and_not_the_number(drive: str, board: str) -> None:
    assert told(start(drive, board)) == told(start("hwmon0", "hwmon1"))


def test_chips_do_not_trade_their_places() -> None:
    links = told(start("hwmon0", "hwmon1"))
    asked = Question(kind=Kind.TARGET, text="sys/class/hwmon/hwmon~0")
    assert links[asked] == BOARD.format("hwmon~0")


def test_content_and_names_that_nothing_links_to_stay() -> None:
    records = start("hwmon0", "hwmon1")
    assert b"lm75b hwmon9\n" in told(records).values()
    other = Question(kind=Kind.READ, text="sys/devices/other/hwmon7/name")
    assert renumber_question(other, lasting_numbers(records)) == other


HID = "sys/devices/platform/i2c.0/0018:FE31:0214.0001/input/{}"
PAD = "sys/devices/platform/i8042/serio1/input/{}"


def inputs(mouse: int, touchpad: int, pad: int) -> tuple[Record, ...]:
    """What is asked where one driver makes two inputs, in this order, and another makes one."""
    node = f"{HID.format(f'input{touchpad}')}/event{touchpad + 1}/dev"
    asked: dict[Question, Answer] = {
        Question(kind=Kind.TARGET, text=f"sys/class/input/input{mouse}"): HID.format(
            f"input{mouse}"
        ),
        Question(kind=Kind.TARGET, text=f"sys/class/input/input{touchpad}"): HID.format(
            f"input{touchpad}"
        ),
        Question(kind=Kind.TARGET, text=f"sys/class/input/input{pad}"): PAD.format(f"input{pad}"),
        Question(kind=Kind.NAMES, text=HID.format(f"input{mouse}")): (f"mouse{mouse}", "name"),
        Question(kind=Kind.READ, text=node): f"13:{touchpad + 65}\n".encode(),
        Question(kind=Kind.READ, text=f"run/udev/data/c13:{touchpad + 65}"): b"E:ID_INPUT=1\n",
    }
    return tuple(
        Record(question=question, answer=answer, microseconds=1)
        for question, answer in asked.items()
    )


def asked(records: tuple[Record, ...]) -> set[Question]:
    numbers = lasting_numbers(records)
    return {renumber_question(one.question, numbers) for one in records}


def test_inputs_take_their_nodes_along() -> None:
    assert asked(inputs(8, 9, 7)) == asked(inputs(9, 10, 11))
    assert asked(inputs(8, 9, 7)) != asked(inputs(8, 8, 7))
