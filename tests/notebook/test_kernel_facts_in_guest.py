"""The kernel of the image answers as readers expect, asked inside notebooks."""

import json

import pytest

from notebook.image import Image
from notebook.kernel_facts import (
    AT_REST,
    NOTEBOOKS,
    disagreements,
    load_facts,
    unverified,
)
from notebook.kernel_moments import USERS, ask_everything
from notebook.kernel_record import SHARED_DRIVE, SHARED_DRIVE_BYTES, opened
from notebook.machine import Machine

pytestmark = pytest.mark.notebook

CAPTURED = "/tmp/facts.jsonl.gz"  # noqa: S108 - in the guest
FACTS = load_facts()


def capture(machine: Machine, user: str) -> bytes:
    """What the agent asks there, with the answers."""
    ran = machine.session.run("closeout", "capture", "-o", CAPTURED, user=user, seconds=120)
    assert ran.status == 0, ran.err
    captured = machine.session.read(CAPTURED)
    machine.session.run("rm", CAPTURED)
    return captured


@pytest.mark.parametrize(
    "name",
    [
        pytest.param(name, marks=pytest.mark.xdist_group(name))
        for name in (*NOTEBOOKS, "skerry-13-new-board")
    ],
)
def test_the_kernel_answers_as_expected_and_nothing_else_is_asked(name: str, image: Image) -> None:
    with opened(name, image) as machine:
        asked = {user: capture(machine, user) for user in USERS}
        told = ask_everything(machine, name, FACTS)
    assert [line for one in told for line in disagreements(FACTS, one)] == []
    if name in NOTEBOOKS:
        at_rest = [one for one in told if one.asking.moment == AT_REST]
        for user, evidence in asked.items():
            assert unverified(evidence, at_rest) == [], user


@pytest.mark.xdist_group("osier-15")
def test_a_namespace_that_more_than_one_way_leads_to_is_one_drive(image: Image) -> None:
    """The kernel lists it twice, once hidden; readers and libraries agree on one drive."""
    with opened(SHARED_DRIVE, image) as machine:
        told = ask_everything(machine, SHARED_DRIVE, FACTS)
        shown = json.loads(machine.session.run("closeout", "show", "--json", seconds=120).out)
    assert [line for one in told for line in disagreements(FACTS, one)] == []
    drives = [drive["attributes"] for drive in shown["inventory"]["drive"]["devices"]]
    (shared,) = [drive for drive in drives if drive["bus"]["value"] == "nvme"]
    assert shared["serial"]["value"] == "MP0001"
    assert shared["size_bytes"]["value"] == SHARED_DRIVE_BYTES
    (opinions,) = shown["inventory"]["second_opinions"]["devices"]
    assert opinions["attributes"]["pyudev_disagreements"]["value"] == []
