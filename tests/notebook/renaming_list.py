r"""The list by which captured evidence is renamed: `profiles/demo/renaming.toml` as frozen records.

[[substitution]]                          # everywhere, and backwards too
from = "Virtual-1"
to = "eDP-1"
reason = "the emulator's only connector; a notebook's panel is on an embedded one"

[[exempt]]                                # stays, although it was not invented
name = "xhci_hcd"
reason = "the kernel's driver for every controller of the standard"

[unit.fen-14-healthy]                     # a folder of the demo
notebook = "fen-14"

[[unit.fen-14-healthy.substitution]]      # in this unit alone, and backwards too
...

[[unit.fen-14-healthy.field]]             # part of one answer, with no way back
read = "proc/meminfo"
pattern = 'MemTotal: +\d+ kB'
text = "MemTotal:        7969177 kB"
reason = "the emulated machine has less memory than its tables tell"
"""

import re
import tomllib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final, TypeVar, cast

from closeout.kernel.record import Kind, Question
from notebook.words import Words

LIST_KEYS: Final = frozenset({"substitution", "exempt", "unit"})
UNIT_KEYS: Final = frozenset({"notebook", "substitution", "field"})
CONTENT: Final = (Kind.READ, Kind.ASK)
"""The kinds of question whose answer has fields."""

Table = Mapping[str, object]
T = TypeVar("T")


class RenamingListError(ValueError):
    """A list that cannot be used; one line that names the file and the entry."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Substitution:
    """A text of the captured evidence, and the one that stands for it in the shipped."""

    captured: str
    shipped: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """What stands in place of every match of `pattern` in one answer; it matches itself."""

    question: Question
    pattern: re.Pattern[str]
    text: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Exempt:
    """An identifier that stays, and who forces it."""

    name: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitRenaming:
    """What holds for one unit of the demo; `notebook` is what it was captured of."""

    notebook: str
    substitutions: tuple[Substitution, ...]
    fields: tuple[Field, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RenamingList:
    """The whole list."""

    substitutions: tuple[Substitution, ...]
    exempt: tuple[Exempt, ...]
    units: Mapping[str, UnitRenaming]

    def substitutions_of(self, unit: str | None) -> tuple[Substitution, ...]:
        """Those that hold everywhere, and those of the unit."""
        own = self.units[unit].substitutions if unit is not None else ()
        return (*self.substitutions, *own)

    def forwards(self, unit: str | None) -> Words:
        """From the captured evidence to the shipped."""
        return Words({each.captured: each.shipped for each in self.substitutions_of(unit)})

    def backwards(self, unit: str | None) -> Words:
        """From what is shipped to the guest."""
        return Words({each.shipped: each.captured for each in self.substitutions_of(unit)})


def load_list(file: Path) -> RenamingList:
    """The list in a file, checked; RenamingListError names the first mistake."""
    try:
        raw = tomllib.loads(file.read_text("utf-8"))
        listed = _read_list(raw)
        for unit in (None, *listed.units):
            _check_words(listed.substitutions_of(unit), unit)
    except (OSError, ValueError) as mistake:
        raise RenamingListError(f"{file.name}: {mistake}") from None
    return listed


def _read_list(raw: Table) -> RenamingList:
    _known_keys("the list", raw, LIST_KEYS)
    units = _table("unit", raw.get("unit", {}))
    return RenamingList(
        substitutions=_each(raw, "substitution", "", _substitution),
        exempt=_each(raw, "exempt", "", _exempt),
        units={name: _unit(f"unit.{name}", told) for name, told in units.items()},
    )


def _unit(place: str, raw: object) -> UnitRenaming:
    table = _table(place, raw)
    _known_keys(place, table, UNIT_KEYS)
    return UnitRenaming(
        notebook=_text(place, table, "notebook"),
        substitutions=_each(table, "substitution", f"{place}.", _substitution),
        fields=_each(table, "field", f"{place}.", _field),
    )


def _substitution(place: str, table: Table) -> Substitution:
    _known_keys(place, table, frozenset({"from", "to", "reason"}))
    return Substitution(
        captured=_text(place, table, "from"),
        shipped=_text(place, table, "to"),
        reason=_text(place, table, "reason"),
    )


def _exempt(place: str, table: Table) -> Exempt:
    _known_keys(place, table, frozenset({"name", "reason"}))
    return Exempt(name=_text(place, table, "name"), reason=_text(place, table, "reason"))


def _field(place: str, table: Table) -> Field:
    kinds = [kind for kind in CONTENT if kind.value in table]
    if len(kinds) != 1:
        raise ValueError(f"{place}: one of 'read' and 'ask' is wanted")
    kind = kinds[0]
    _known_keys(place, table, frozenset({kind.value, "pattern", "text", "reason"}))
    text = _text(place, table, "text")
    try:
        pattern = re.compile(_text(place, table, "pattern"), re.MULTILINE)
    except re.error as mistake:
        raise ValueError(f"{place}.pattern: {mistake}") from None
    if not pattern.fullmatch(text):
        raise ValueError(f"{place}: the pattern does not match its own text {text!r}")
    return Field(
        question=Question(kind=kind, text=_text(place, table, kind.value)),
        pattern=pattern,
        text=text,
        reason=_text(place, table, "reason"),
    )


def _check_words(substitutions: Sequence[Substitution], unit: str | None) -> None:
    """The list works backwards too, and what was renamed is not renamed again."""
    where = "" if unit is None else f"unit {unit}: "
    for side in ("captured", "shipped"):
        texts = [cast("str", getattr(each, side)) for each in substitutions]
        if twice := next((text for text in texts if texts.count(text) > 1), None):
            raise ValueError(f"{where}{twice!r} is {side} twice")
    words = Words({each.captured: each.shipped for each in substitutions})
    for each in substitutions:
        if found := words.first_in(each.shipped):
            raise ValueError(f"{where}{each.shipped!r} would be renamed again, for its {found!r}")


def _each(table: Table, key: str, above: str, read: Callable[[str, Table], T]) -> tuple[T, ...]:
    return tuple(read(place, entry) for place, entry in _entries(table, key, above))


def _entries(table: Table, key: str, above: str) -> Iterator[tuple[str, Table]]:
    listed = table.get(key, [])
    if not isinstance(listed, list):
        raise ValueError(f"{above}{key}: a list of tables is wanted")  # noqa: TRY004 - one kind
    for index, entry in enumerate(cast("list[object]", listed)):
        place = f"{above}{key}[{index}]"
        yield place, _table(place, entry)


def _table(place: str, value: object) -> Table:
    if not isinstance(value, dict):
        raise ValueError(f"{place}: a table is wanted")  # noqa: TRY004 - one kind of mistake
    return cast("Table", value)


def _known_keys(place: str, table: Table, known: frozenset[str]) -> None:
    if unknown := sorted(table.keys() - known):
        raise ValueError(f"{place}: there is no {unknown[0]!r}")


def _text(place: str, table: Table, key: str) -> str:
    found = table.get(key)
    if not isinstance(found, str) or not found:
        raise ValueError(f"{place}.{key}: a text is wanted")
    return found
