"""`closeout show` in a running notebook beside the tools that are run with it."""

import json
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import pytest

from notebook.agreement import all_claims, compared, disagreements
from notebook.conftest import Once
from notebook.console_text import console_disagreements
from notebook.known_differences import RECORDED, least_compared
from notebook.machine import Machine
from notebook.opinions import ORDINARY_USER, ToolOutput, ask_tools

pytestmark = pytest.mark.notebook

ASKED = (*((name, "root") for name in RECORDED), ("fen-14", ORDINARY_USER))
WITHIN = 120.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What a user was told in the guest; `least` is how many fields must be compared."""

    inventory: Mapping[str, Any]
    words: str
    outputs: Mapping[str, ToolOutput]
    least: Counter[str]


@pytest.fixture(
    params=[
        pytest.param(asked, id="-".join(asked), marks=pytest.mark.xdist_group(asked[0]))
        for asked in ASKED
    ],
)
def told(request: pytest.FixtureRequest, booted: Callable[[str], Machine], once: Once) -> Told:
    name, user = request.param
    made = once(("told", name, user), lambda: _ask(booted(name), name, user))
    assert isinstance(made, Told)
    return made


def _ask(machine: Machine, name: str, user: str) -> Told:
    captured = _capture(machine, user)
    return Told(
        inventory=json.loads(_show(machine, user, "--json", *captured))["inventory"],
        words=_show(machine, user, *captured),
        outputs=ask_tools(machine, user),
        least=least_compared(name, user),
    )


def test_the_tools_agree(told: Told) -> None:
    assert disagreements(told.inventory, told.outputs) == []


def test_as_much_is_compared_as_ever(told: Told) -> None:
    found = compared(all_claims(told.inventory, told.outputs))
    assert told.least - found == Counter()


def test_the_words_say_what_the_json_says(told: Told) -> None:
    assert console_disagreements(told.words, told.inventory) == []


def _capture(machine: Machine, user: str) -> tuple[str, str]:
    """The unit read once: a clock would tell another time at a second reading."""
    folder = machine.session.run("mktemp", "--directory", user=user).text.strip()
    file = f"{folder}/unit.gz"
    ran = machine.session.run("closeout", "capture", "-o", file, user=user, seconds=WITHIN)
    assert (ran.status, ran.err) == (0, b"")
    return "--evidence", file


def _show(machine: Machine, user: str, *options: str) -> str:
    """What `closeout show` prints, on lines that are not wrapped."""
    command = ("env", "COLUMNS=1000", "closeout", "show", *options)
    ran = machine.session.run(*command, user=user, seconds=WITHIN)
    assert (ran.status, ran.err) == (0, b"")
    return ran.text
