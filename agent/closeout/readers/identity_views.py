"""Both views of the identity side by side: where raw table and kernel differ, and table faults.

Kernel paths: `sys/firmware/dmi/tables/` and `sys/class/dmi/id/*`. A field is compared where both
views have it. The kernel reads the table once, at boot.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Final, TypeVar

from closeout.decode.smbios_bios import decode_bios
from closeout.decode.smbios_chassis import decode_chassis
from closeout.decode.smbios_fields import Field, Lack, Missing
from closeout.decode.smbios_identity import decode_board, decode_system
from closeout.decode.smbios_table import Structure
from closeout.kernel.tree import KernelTree
from closeout.model.device import Position
from closeout.model.identity import IdentityViews
from closeout.model.inventory import Listing
from closeout.model.reading import Absent, Reading, Unreadable, Value, convert
from closeout.readers.dmi_view import list_dmi, read_dmi
from closeout.readers.identity_fields import BIOS, BOARD, CHASSIS, SYSTEM, UUID_FILE, Spot
from closeout.readers.reader import Reader
from closeout.readers.smbios_view import PADDING, SmbiosView, read_smbios

R = TypeVar("R")

PLACE: Final = "dmi:identity_views"
ONE_VIEW: Final = "only one view of the identity is there"
NO_TEXT: Final = frozenset({Lack.NO_STRING, Lack.BAD_INDEX, Lack.NOT_SET})


def find_identity_views(tree: KernelTree) -> Listing:
    """One pair of views, if there is at least one of them."""
    seen = read_smbios(tree)
    if isinstance(seen, Value):
        return Value(value=(PLACE,), sources=seen.sources)
    kernel = list_dmi(tree)
    if isinstance(kernel, Value):
        return Value(value=(PLACE,), sources=kernel.sources)
    return kernel if isinstance(seen, Absent) else seen


def read_identity_views(tree: KernelTree, place: str) -> IdentityViews:
    """What differs between the views, and what is wrong with the raw table."""
    seen = read_smbios(tree)
    return IdentityViews(
        place=place,
        label="identity views",
        position=Position.INTERNAL,
        disagreements=_disagreements(tree, seen, list_dmi(tree)),
        table_faults=convert(seen, lambda view: view.faults),
    )


def _disagreements(
    tree: KernelTree, seen: Reading[SmbiosView], kernel: Reading[tuple[str, ...]]
) -> Reading[tuple[str, ...]]:
    """Empty where every field agrees; a field that cannot be read leaves that open."""
    for view in (seen, kernel):
        if isinstance(view, Absent):
            return Absent(reason=ONE_VIEW, sources=view.sources)
    if not isinstance(seen, Value):
        return seen
    if not isinstance(kernel, Value):
        return kernel
    outcomes = tuple(_compare_all(tree, seen.value))
    texts = tuple(outcome for outcome in outcomes if isinstance(outcome, str))
    unread = [outcome for outcome in outcomes if isinstance(outcome, Unreadable)]
    if unread and not texts:
        return unread[0]
    if not outcomes:
        return Absent(reason="no field is in both views", sources=seen.sources + kernel.sources)
    return Value(value=texts, sources=seen.sources + kernel.sources)


Outcome = str | Unreadable | None
"""A disagreement, a field that could not be read, or agreement."""


def _compare_all(tree: KernelTree, view: SmbiosView) -> Iterator[Outcome]:
    yield from _compare(
        tree, "system", SYSTEM, _records(view, 1, lambda found: decode_system(found, view.version))
    )
    yield from _compare(tree, "board", BOARD, _records(view, 2, decode_board))
    yield from _compare(tree, "chassis", CHASSIS, _records(view, 3, decode_chassis))
    yield from _compare(tree, "bios", BIOS, _records(view, 0, decode_bios))


def _records(view: SmbiosView, type_number: int, decode: Callable[[Structure], R]) -> tuple[R, ...]:
    return tuple(decode(structure) for structure in view.table.of_type(type_number))


def _compare(
    tree: KernelTree, kind: str, spots: Mapping[str, Spot[R]], records: tuple[R, ...]
) -> Iterator[Outcome]:
    """The outcome for each field of a kind that both views have."""
    for attribute, spot in spots.items():
        told = _first_told(spot.get(record) for record in records)
        if not spot.file or told is None:
            continue
        kernel = read_dmi(tree, spot.file)
        if isinstance(kernel, Unreadable):
            yield kernel
        elif not isinstance(kernel, Absent) and not _is_undecided(told):
            table_text = "" if isinstance(told, Missing) else told.rstrip(PADDING)
            kernel_text = kernel.value if isinstance(kernel, Value) else ""
            yield _difference(f"{kind}.{attribute}", spot.file, table_text, kernel_text)


def _first_told(fields: Iterator[Field[str]]) -> Field[str] | None:
    """The kernel keeps the first structure of a type that is long enough for the field."""
    for field in fields:
        if not (isinstance(field, Missing) and field.lack is Lack.TOO_SHORT):
            return field
    return None


def _is_undecided(told: Field[str]) -> bool:
    return isinstance(told, Missing) and told.lack not in NO_TEXT


def _difference(name: str, file: str, table: str, kernel: str) -> str | None:
    if table.strip() == kernel.strip():
        return None
    if file == UUID_FILE and _swapped(table) == kernel:
        return f"{name}: byte order differs: table {table!r}, kernel {kernel!r}"
    return f"{name}: table {_shown(table)}, kernel {_shown(kernel)}"


def _shown(text: str) -> str:
    return repr(text) if text else "blank"


def _swapped(text: str) -> str:
    """The UUID with its first three fields in the other byte order; blank stays blank."""
    from uuid import UUID  # noqa: PLC0415 - few units come to this

    return str(UUID(bytes=UUID(text).bytes_le)) if text else text


READERS: Final = (
    Reader(kind="identity_views", find=find_identity_views, read=read_identity_views),
)
