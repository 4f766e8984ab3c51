"""A planted fault: one line of change to a notebook, and the findings that it must lead to.

Faults are kept in `faults/NOTEBOOK.toml`. What each must lead to was written down part by part,
field by field; a check that finds anything else, more or less, does not name it right.
"""

import re
import tomllib
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final, Literal

from dacite import Config, DaciteError, from_dict

from notebook.description import DescriptionError

FAULTS: Final = Path(__file__).parent / "faults"
LEVELS: Final = ("device", "table", "bind mount", "seam")
NAME: Final = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
OUTCOMES: Final = ("fail", "review", "unread", "uncovered")
ANY: Final = "*"
"""In a subject: any characters; in nothing else."""


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class Told:
    """A finding as a fault file and a report both have it."""

    rule: str
    subject: str
    outcome: str
    expected: str
    found: str

    def covers(self, found: "Told") -> bool:
        """The finding is this one; only a subject may leave numbers of the kernel's open."""
        pattern = ".*".join(map(re.escape, self.subject.split(ANY)))
        same = ("rule", "outcome", "expected", "found")
        return re.fullmatch(pattern, found.subject) is not None and all(
            getattr(self, name) == getattr(found, name) for name in same
        )

    def show(self) -> str:
        """One line."""
        told = f"wanted {self.expected!r}, found {self.found!r}"
        return f"{self.rule} {self.outcome} at {self.subject}: {told}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One line of change; `plant` is done inside the guest, the rest to its description."""

    name: str
    title: str
    level: Literal["device", "table", "bind mount", "seam"]
    sort: str
    """Its class in the table: "left out", "identity", "licence" ..."""
    without: tuple[str, ...] = ()
    change: Mapping[str, Any] = field(default_factory=dict)
    plant: tuple[str, ...] = ()
    consequences: str = ""
    """What else is so when it is: the adapter out also means not charging."""
    touches: tuple[str, ...] = ()
    """Parts that it changes beyond those that `without` and `change` name."""
    few: bool = False
    """One of those that stand for all in CI."""
    finding: tuple[Told, ...] = ()
    notebook: str = ""

    @property
    def case(self) -> str:
        """Its name among all."""
        return f"{self.notebook}/{self.name}"

    @property
    def parts(self) -> frozenset[str]:
        """The parts of the notebook that it changes: `usb.camera`, `system.serial`."""
        named = (*self.without, *self.change, *self.touches)
        return frozenset(".".join(path.split(".")[:2]) for path in named)


def load_faults(folder: Path = FAULTS) -> tuple[Fault, ...]:
    """Every fault of every notebook; DescriptionError says what is wrong with one."""
    faults = tuple(fault for file in sorted(folder.glob("*.toml")) for fault in _read(file))
    if mistakes := tuple(find_mistakes(faults)):
        raise DescriptionError("; ".join(mistakes))
    return faults


def find_mistakes(faults: Sequence[Fault]) -> Iterator[str]:
    """What no fault may be: nameless, twice there, without a change, without a finding."""
    counted = Counter(fault.case for fault in faults)
    yield from (f"{name}: there are two of that name" for name, many in counted.items() if many > 1)
    for fault in faults:
        yield from (f"{fault.case}: {mistake}" for mistake in _mistakes_of(fault))


def _mistakes_of(fault: Fault) -> Iterator[str]:
    if not NAME.fullmatch(fault.name):
        yield "a name is small letters, digits and hyphens"
    if not (fault.without or fault.change or fault.plant):
        yield "it changes nothing"
    if not fault.finding:
        yield "it leads to no finding"
    if not fault.parts:
        yield "say in `touches` which part it changes"
    for told in fault.finding:
        if told.outcome not in OUTCOMES:
            yield f"{told.rule}: {told.outcome} is none of {', '.join(OUTCOMES)}"


def _read(file: Path) -> Iterator[Fault]:
    for raw in tomllib.loads(file.read_text("utf-8")).get("fault", ()):
        try:
            config = Config(strict=True, cast=[tuple])
            yield from_dict(Fault, {**raw, "notebook": file.stem}, config)
        except DaciteError as mistake:
            raise DescriptionError(f"{file.name}: {raw.get('name')}: {mistake}") from None
