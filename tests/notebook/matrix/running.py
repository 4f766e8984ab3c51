"""One case run: the notebook woken or started, faults planted, the agent's check, its evidence."""

import json
import resource
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Any, Final

from notebook.checked import Demands, check, order_of, profile_in_guest
from notebook.image import Image
from notebook.machine import Machine, started
from notebook.matrix.case import Case
from notebook.matrix.fault import Told
from notebook.matrix.planting import plant_all
from notebook.matrix.variant import Variant
from notebook.renaming import rename_back
from notebook.template import BEGAN, can_be_kept, restored

BENCH: Final = Path(__file__).parent / "bench"
"""What is demanded beside the shipped profile: what it does not ask for, a fault cannot break."""
USER: Final = "root"
PASSED: Final = "pass"


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """What one case came to; `order` and `profile` are what it was judged by."""

    case: str
    status: int
    report: Mapping[str, Any]
    evidence: bytes
    profile: bytes
    order: bytes
    woke_after: float
    seconds: float
    processor_seconds: float = 0.0
    """Of the emulator and what runs beside it: what a busy machine changes little."""

    @property
    def not_passed(self) -> tuple[Told, ...]:
        """Its findings that are no pass."""
        return not_passed(self.report["findings"])


def not_passed(findings: list[Mapping[str, Any]]) -> tuple[Told, ...]:
    """Those of a report's findings that are no pass."""
    return tuple(
        Told(
            rule=found["rule"],
            subject=found["subject"],
            outcome=found["outcome"],
            expected=found["expected"],
            found=found["found"],
        )
        for found in findings
        if found["outcome"] != PASSED
    )


def run_case(case: Case, image: Image) -> Run:
    """The check inside the notebook, with the right time and the notebook's order."""
    begun, spent = time.monotonic(), _spent()
    variant = case.variant()
    demands = demands_of(case)
    with standing(case, variant, image) as (machine, began):
        woke_after = time.monotonic() - begun
        plant_all(machine, variant, case.plant)
        now = _right_time(case, began)
        more = ("--reference-time", now, "--time-source", "the host")
        checked = check(machine, case.notebook, USER, more, demands)
    if not checked.evidence:
        raise RuntimeError(f"{case.name}: no report: {checked.ran.err.decode()}")
    return Run(
        case=case.name,
        status=checked.ran.status,
        report=json.loads(checked.ran.out),
        evidence=checked.evidence,
        profile=checked.profile,
        order=checked.order,
        woke_after=woke_after,
        seconds=time.monotonic() - begun,
        processor_seconds=_spent() - spent,
    )


def _spent() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


@contextmanager
def standing(case: Case, variant: Variant, image: Image) -> Iterator[tuple[Machine, float]]:
    """The notebook, and the host's time at which its clock showed the described time.

    Two faults that both need a start of their own get one that is not kept, as does what no
    snapshot can be made of.
    """
    starts = sum(_needs_start(case, one) for one in range(len(case.faults)))
    if starts > 1 or not can_be_kept(variant.started):
        with started(variant.started, image) as machine:
            yield machine, time.time() - machine.ready_after
    else:
        with restored(variant.started, image, variant.shown) as machine:
            yield machine, float((machine.places.folder / BEGAN).read_text("ascii"))


def _needs_start(case: Case, index: int) -> bool:
    alone = Case(notebook=case.notebook, faults=case.faults[index : index + 1]).variant()
    return alone.started != Case(notebook=case.notebook).variant().started


def _right_time(case: Case, began: float) -> str:
    """UTC, as it is typed: it runs on from what the healthy notebook's clock was started with."""
    right = Case(notebook=case.notebook).variant().started.clock
    passed = timedelta(seconds=time.time() - began)
    return f"{right + passed:%Y-%m-%dT%H:%M:%SZ}"


def demands_of(case: Case) -> Demands:
    """The notebook's profile with the bench's demands, and its work order.

    A healthy variation may say otherwise in the order.
    """
    shipped = profile_in_guest(Case(notebook=case.notebook).variant().shown.profile)
    bench = (BENCH / f"{case.notebook}.toml").read_text("utf-8")
    text = order_of(case.notebook).decode()
    for old, new in (case.healthy.order if case.healthy else {}).items():
        if old not in text:
            raise ValueError(f"{case.name}: the order does not say {old!r}")
        text = text.replace(old, new)
    return Demands(profile=shipped + b"\n" + rename_back(bench).encode(), order=text.encode())
