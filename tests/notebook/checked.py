"""`closeout check` run inside a notebook, and what it left there."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, NamedTuple

from notebook.agent_bundle import TOP
from notebook.machine import Machine
from notebook.renaming import rename_back
from notebook.session import Ran

ORDERS: Final = Path(__file__).parent / "work-orders"
IN_GUEST: Final = "/run/notebook"
WITHIN: Final = 120.0


class Demands(NamedTuple):
    """A profile and a work order, as files."""

    profile: bytes
    order: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """One run: how it ended, its report as it printed it, and its evidence."""

    ran: Ran
    evidence: bytes
    profile: bytes
    order: bytes

    @property
    def report(self) -> dict[str, Any]:
        """The report, decoded."""
        told: dict[str, Any] = json.loads(self.ran.out)
        return told


def profile_in_guest(profile: str) -> bytes:
    """A shipped profile with the emulator's names for what is built in."""
    shipped = (TOP / "profiles" / f"{profile}.toml").read_text("utf-8")
    return rename_back(shipped).encode()


def order_of(name: str) -> bytes:
    """The work order of a notebook."""
    return (ORDERS / f"{name}.toml").read_bytes()


def check(
    machine: Machine,
    name: str,
    user: str,
    more: Sequence[str] = (),
    demands: Demands | None = None,
) -> Checked:
    """Runs the check as a user would, on the notebook's own profile and work order.

    `more` are further arguments; `demands` are others than the notebook's own.
    """
    profile, order = demands or Demands(
        profile=profile_in_guest(machine.notebook.profile), order=order_of(name)
    )
    machine.session.write(f"{IN_GUEST}/profile.toml", profile)
    machine.session.write(f"{IN_GUEST}/order.toml", order)
    folder = machine.session.run("mktemp", "--directory", user=user).text.strip()
    arguments = (
        *("check", "--json", "--out", folder),
        *("--profile", f"{IN_GUEST}/profile.toml", "--work-order", f"{IN_GUEST}/order.toml"),
        *more,
    )
    if machine.has_loaded_agent and user == "root":
        ran = machine.session.run_agent(*arguments, seconds=WITHIN)
    else:
        ran = machine.session.run("closeout", *arguments, user=user, seconds=WITHIN)
    places = machine.session.run("find", folder, "-name", "evidence.jsonl.gz").text.split()
    evidence = machine.session.read(places[0]) if places else b""
    return Checked(ran=ran, evidence=evidence, profile=profile, order=order)
