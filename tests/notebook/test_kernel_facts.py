"""What the product leans on of the kernel: table, recorded answers and manual agree."""

import errno
import re
from collections import Counter
from itertools import groupby
from pathlib import Path

import pytest

import closeout
from closeout.kernel.live import WAITS
from closeout.readers.attributes import ADVICE
from notebook.description import notebook_names
from notebook.kernel_facts import (
    AT_REST,
    NOTEBOOKS,
    Asking,
    Fact,
    Told,
    disagreements,
    load_facts,
    load_fixture,
    unseen,
    unverified,
)
from notebook.kernel_moments import MOMENTS, USERS
from notebook.recorded_answers import EVIDENCE, FIXTURES

PACKAGE = Path(closeout.__file__).parent
MANUAL = Path(__file__).resolve().parents[2] / "docs" / "manual" / "kernel.md"
FACTS = load_facts()
RECORDED = load_fixture()
TECHNICIAN = Asking(notebook="fen-14", user="technician", moment=AT_REST)


@pytest.mark.parametrize("told", RECORDED, ids=lambda told: "-".join(vars_of(told.asking)))
def test_what_was_recorded_is_what_is_expected(told: Told) -> None:
    assert disagreements(FACTS, told) == []


def vars_of(asking: Asking) -> tuple[str, str, str]:
    return asking.notebook, asking.user, asking.moment


def test_every_fact_was_asked_and_nothing_else() -> None:
    asked = Counter(
        (one.asking, answer["kind"], answer["asked"]) for one in RECORDED for answer in one.answers
    )
    wanted = {
        (Asking(notebook=name, user=fact.user, moment=fact.moment), fact.kind, fact.path)
        for fact in FACTS
        for name in fact.on
    }
    assert set(asked) == wanted


@pytest.mark.parametrize("name", NOTEBOOKS)
@pytest.mark.parametrize("user", USERS)
def test_a_reader_asks_nothing_that_is_not_verified(name: str, user: str) -> None:
    evidence = (FIXTURES / name / user / EVIDENCE).read_bytes()
    told = [one for one in RECORDED if (one.asking.notebook, one.asking.moment) == (name, AT_REST)]
    assert unverified(evidence, told) == []


def test_every_fact_names_who_leans_on_it() -> None:
    for fact in FACTS:
        assert fact.reader == "" or (PACKAGE / fact.reader).is_file(), fact
        assert set(fact.on) <= {*notebook_names(), "shared-drive"}, fact
        assert fact.user in USERS, fact
        assert fact.moment in {AT_REST, *MOMENTS}, fact
        assert fact.wanted, fact


def test_every_errno_that_readers_know_is_seen_or_said_not_to_be() -> None:
    """Our own words (`DEADLINE`) are no errnos; the waits of the live tree are."""
    known = {code for code in ADVICE if code in errno.errorcode.values()}
    known |= {errno.errorcode[number] for number in WAITS}
    seen = {fact.wanted["errno"] for fact in FACTS if "errno" in fact.wanted}
    assert known - seen == set(unseen())
    assert all(unseen().values())


def test_the_manual_tells_every_difference() -> None:
    manual = MANUAL.read_text("utf-8")
    changed = [fact for fact in FACTS if fact.before]
    assert changed
    for fact in changed:
        assert f"`{fact.path}`" in manual, f"{fact.path}: on 6.1 {fact.before}"
    for code in unseen():
        assert f"`{code}`" in manual


def test_the_manual_names_no_path_that_was_not_asked() -> None:
    paths = {fact.path for fact in FACTS}
    paths |= {fact.wanted["is"].lstrip("/") for fact in FACTS if "is" in fact.wanted}
    told = set(re.findall(r"`((?:sys|proc|run|dev)/[^`]+)`", MANUAL.read_text("utf-8")))
    earlier = {word for fact in FACTS for word in re.findall(r"`([^`]+)`", fact.before)}
    assert told <= paths | earlier


def test_an_answer_that_is_not_as_expected_is_told() -> None:
    fact = next(one for one in FACTS if one.is_for(TECHNICIAN) and one.path == "proc/meminfo")
    answer = {"kind": fact.kind, "asked": fact.path, "path": fact.path}
    for wrong in ({"text": "MemTotal: lots\n"}, {"errno": "EACCES"}, {"hex": "00"}):
        told = Told(asking=TECHNICIAN, answers=({**answer, **wrong},))
        assert len(disagreements([fact], told)) == 1
    assert len(disagreements([fact], Told(asking=TECHNICIAN, answers=()))) == 1


def test_one_question_has_expectations_that_can_hold_together() -> None:
    """A fact that is asked twice is looked at from two sides; it never has two errnos."""

    def key(fact: Fact) -> str:
        return f"{fact.user} {fact.moment} {fact.kind} {fact.path} {fact.on}"

    for same, facts in groupby(sorted(FACTS, key=key), key):
        errnos = {fact.wanted.get("errno") for fact in facts} - {None}
        assert len(errnos) <= 1, same
