"""A profile file and those above it, made one: what the child says goes before its parent's."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from hashlib import sha256

from closeout.expect.label_format import LabelFormat
from closeout.expect.mistake import KeyPath
from closeout.expect.option import PlacedOption
from closeout.expect.profile_file import PlacedDemand, ProfileFile
from closeout.expect.proofreader import Proofreader
from closeout.expect.scalar import Target
from closeout.model.built_in import BuiltIn
from closeout.model.expectation import Filled
from closeout.model.frozen import frozen
from closeout.model.part_demand import PartDemand


@frozen
class Inherited:
    """All that a chain of files says together, with the places of what the last file says.

    `norm` has the place of a field where the last file names it, and () for an inherited one.
    """

    demands: tuple[PlacedDemand, ...]
    options: tuple[PlacedOption, ...]
    norm: Mapping[Target, KeyPath]
    lacks: Mapping[str, KeyPath]


def merge_chain(proof: Proofreader, own: ProfileFile, above: Sequence[ProfileFile]) -> Inherited:
    """The demands, options and facts of all; a drop that takes nothing away is noted.

    `above` has the parent first. Only the drops of `own` are looked at for mistakes, and not where
    the parent could not be found.
    """
    demands: tuple[PlacedDemand, ...] = ()
    options: dict[str, PlacedOption] = {}
    norm: dict[Target, KeyPath] = {}
    lacks: dict[str, KeyPath] = {}
    for file in (*reversed(above), own):
        if file is own and above:
            _note_idle_drops(proof, demands, own)
        demands = _add_demands(demands, file)
        is_own = file is own
        for placed in file.options:
            options[placed.option.name] = placed if is_own else _without_places(placed)
        for target, place in file.norm.items():
            norm[target] = place if is_own else ()
        for index, name in enumerate(file.lacks):
            lacks[name] = ("lacks", index) if is_own else ()
    return Inherited(demands=demands, options=tuple(options.values()), norm=norm, lacks=lacks)


def labels_of(chain: Iterable[ProfileFile]) -> Mapping[str, LabelFormat]:
    """The forms of the label, the nearest file's first."""
    labels: dict[str, LabelFormat] = {}
    for file in chain:
        for field, form in file.labels.items():
            labels.setdefault(field, form)
    return labels


def built_in_of(chain: Sequence[ProfileFile]) -> BuiltIn:
    """What any of the files names as built in, each once."""
    parts = [file.built_in for file in reversed(chain)]
    return BuiltIn(
        connectors=_once(part.connectors for part in parts),
        usb_ports=_once(part.usb_ports for part in parts),
        usb_ids=_once(part.usb_ids for part in parts),
    )


def parts_of_chain(chain: Sequence[ProfileFile]) -> tuple[PartDemand, ...]:
    """The parts of a class as the nearest file names them: two files never share the naming."""
    parts: list[PartDemand] = []
    for file in chain:
        named = {part.kind for part in parts}
        parts += [part for part in file.parts if part.kind not in named]
    return tuple(parts)


def digest_chain(chain: Sequence[ProfileFile]) -> str:
    """The SHA-256 of the one file, or of the ids and digests of all, the first ancestor first."""
    if len(chain) == 1:
        return chain[0].digest
    lines = (f"{file.id}\0{file.digest}\n" for file in reversed(chain))
    return sha256("".join(lines).encode()).hexdigest()


def revision_of(chain: Sequence[ProfileFile]) -> str:
    """`3`, or with those above it `3 on northlake/fen 2 on northlake 1`."""
    above = "".join(f" on {file.id} {file.revision}" for file in chain[1:])
    return f"{chain[0].revision}{above}"


def is_blank_by_norm(demand: PlacedDemand, norm: Mapping[Target, KeyPath]) -> bool:
    """Whether it asks that a field be filled which healthy units of the model leave blank."""
    expectation = demand.expectation
    named = (expectation.kind, expectation.attribute) in norm
    return named and isinstance(expectation.demand, Filled)


def _add_demands(
    inherited: tuple[PlacedDemand, ...], file: ProfileFile
) -> tuple[PlacedDemand, ...]:
    gone = {demand.key for demand in file.demands} | {drop.key for drop in file.drops}
    return (*(demand for demand in inherited if demand.key not in gone), *file.demands)


def _note_idle_drops(
    proof: Proofreader, inherited: tuple[PlacedDemand, ...], own: ProfileFile
) -> None:
    keys = {demand.key for demand in inherited}
    made = {demand.key for demand in own.demands}
    for drop in own.drops:
        if drop.key in made:
            proof.note(drop.place, "this file makes the same demand, which replaces it anyway")
        elif drop.key not in keys:
            proof.note(drop.place, "no inherited demand has this class, attribute and where")


def _without_places(placed: PlacedOption) -> PlacedOption:
    return PlacedOption(option=placed.option, places=())


def _once(lists: Iterable[tuple[str, ...]]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(name for names in lists for name in names))
