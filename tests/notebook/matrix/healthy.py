"""Healthy variations: what differs between units, hours and work places, and is no fault."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from dacite import Config, DaciteError, from_dict

from notebook.description import DescriptionError

VARIATIONS: Final = Path(__file__).parent / "healthy"


@dataclass(frozen=True, slots=True, kw_only=True)
class Healthy:
    """One variation of a notebook; `order` are lines of the work order that differ with it."""

    name: str
    title: str
    without: tuple[str, ...] = ()
    change: Mapping[str, Any] = field(default_factory=dict)
    plant: tuple[str, ...] = ()
    order: Mapping[str, str] = field(default_factory=dict)
    """Texts of the work order, each with the one that stands there instead."""
    few: bool = False
    notebook: str = ""

    @property
    def case(self) -> str:
        """Its name among all."""
        return f"{self.notebook}/{self.name}"


def load_healthy(folder: Path = VARIATIONS) -> tuple[Healthy, ...]:
    """Every variation of every notebook, in the order of the files."""
    found = []
    for file in sorted(folder.glob("*.toml")):
        for raw in tomllib.loads(file.read_text("utf-8")).get("variation", ()):
            try:
                config = Config(strict=True, cast=[tuple])
                found.append(from_dict(Healthy, {**raw, "notebook": file.stem}, config))
            except DaciteError as mistake:
                raise DescriptionError(f"{file.name}: {raw.get('name')}: {mistake}") from None
    return tuple(found)
