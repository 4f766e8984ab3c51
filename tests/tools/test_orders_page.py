"""The page about orders, written by hand: its commands, prompts and order are the program's."""

import re
import shlex

import pytest

from closeout.cli import scan
from closeout.cli.heard import ORDERS, STATION, STICK
from closeout.cli.main import make_parser
from closeout.expect.order_file import parse_work_order
from closeout.expect.scan import SHOWN_BY_LAYOUT
from closeout.expect.work_order import WorkOrder
from closeout.model.unrun import WhyUnrun
from generate_manual import FOLDER

PAGE = (FOLDER / "orders.md").read_text("utf-8")
WORDS = " ".join(PAGE.split())


@pytest.mark.parametrize("line", re.findall(r"^closeout .*", PAGE, re.MULTILINE))
def test_each_command_of_the_page_is_one(line: str) -> None:
    _, *arguments = shlex.split(line)
    assert make_parser().parse_args(arguments).command == arguments[0]


def test_the_prompts_are_those_of_the_program() -> None:
    rows = re.findall(r"^\| (Scan [^|]+) \| ([^|]+) \|$", PAGE, re.MULTILINE)
    assert rows == [
        (asked, skipped.removeprefix("Enter = ").removesuffix("."))
        for asked, skipped in (
            (scan.ORDER, scan.ORDER_SKIPPED),
            (scan.LABEL, scan.LABEL_SKIPPED),
            (scan.OPERATOR, scan.OPERATOR_SKIPPED),
        )
    ]


def test_the_order_of_the_page_is_one() -> None:
    (text,) = re.findall(r"```\n(work_order.*?)```", PAGE, re.DOTALL)
    assert isinstance(parse_work_order("order.toml", text.encode()), WorkOrder)


def test_everything_is_named_that_there_is() -> None:
    named = (*SHOWN_BY_LAYOUT, *(why.value for why in WhyUnrun), ORDERS, STATION, STICK)
    assert [name for name in named if name not in WORDS] == []
