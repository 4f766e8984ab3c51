"""Which changes of a notebook wait until it has woken, and which it has to be started with.

A snapshot holds what firmware told at the start. What comes and goes while a notebook runs (a
drive in its slot, a device on a port, what the control page says, a radio, a panel whose driver is
bound again) is changed after the snapshot was woken; the rest, identity and tables above all, is
started once and kept.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from notebook.description import Notebook, changed, raw_notebook, read_notebook

LIVE_CHANGES: Final = re.compile(
    r"battery\.\w+\.(full_mwh|remaining_mwh|rate_mw|cycles|state|millivolts|design_mwh|present)"
    r"|(adapter\.online|type_c\.partner|lid\.open|thermal\.celsius|fan\.rpm|light_sensor\.lux)"
    r"|radio\.(blocked|address)|sensor\.\w+\.\w+|usb\.\w+\.(ids|address)"
    r"|panel\.(product|width|height|clock_hz)"
)
NVME_CHANGES: Final = re.compile(r"drive\.\w+\.(serial|critical_warning)")
LIVE_PARTS: Final = re.compile(
    r"usb\.\w+|radio|touchpad|touchscreen|mouse|sensor\.\w+|wired|card_reader|audio|drive\.\w+"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """Parts left out, and fields that say something else."""

    without: tuple[str, ...] = ()
    change: Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Variant:
    """A notebook as it starts, and as it is once everything has been planted."""

    started: Notebook
    shown: Notebook
    missing: tuple[str, ...]
    """Parts that are taken out after it has woken."""
    told: Mapping[str, Any]
    """Fields that are changed after it has woken."""


def vary(name: str, changes: Iterable[Change]) -> Variant:
    """The notebook with all these changes."""
    raw = raw_notebook(name)
    first, missing, told = raw, list[str](), dict[str, Any]()
    for one in changes:
        late = tuple(part for part in one.without if LIVE_PARTS.fullmatch(part))
        late_told = {path: value for path, value in one.change.items() if _is_live(raw, path)}
        early = {path: value for path, value in one.change.items() if path not in late_told}
        first = changed(first, tuple(part for part in one.without if part not in late), early)
        missing += late
        told |= late_told
    shown = changed(changed(first, (), told), tuple(missing), {})
    return Variant(
        started=read_notebook(name, first),
        shown=read_notebook(name, shown),
        missing=tuple(missing),
        told=told,
    )


def _is_live(raw: Mapping[str, Any], path: str) -> bool:
    if NVME_CHANGES.fullmatch(path):
        return bool(raw["drive"][path.split(".")[1]]["bus"] == "nvme")
    return LIVE_CHANGES.fullmatch(path) is not None
