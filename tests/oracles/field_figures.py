"""Figures of the filler rules and the version order against public collections.

The collections (linuxhw, CC-BY-4.0) lie outside the project; `CLOSEOUT_TEST_DATA` says where.
"""

import csv
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from closeout.decode.filler import State, classify
from closeout.decode.version_order import compare_versions

OWN_WORDS: Final = frozenset({"Not Specified", "<BAD INDEX>", "<OUT OF SPEC>"})
"""What dmidecode itself prints for an empty or bad string index: no text of the firmware."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One value of a field, its label, and on how many machines it was seen."""

    field: str
    value: str
    label: str
    kind: str
    machines: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """How many of how many."""

    part: int
    whole: int

    @property
    def percent(self) -> float:
        """The share in per cent; 0 of nothing."""
        return 100 * self.part / self.whole if self.whole else 0.0


def table(path: Path) -> list[dict[str, str]]:
    """The rows of a tab-separated file by column name."""
    with path.open(encoding="utf-8", newline="\n") as lines:
        return list(csv.DictReader(lines, delimiter="\t", quoting=csv.QUOTE_NONE))


def read_filler_rows(folder: Path) -> list[Row]:
    """Labelled filler of identity and serial fields, without dmidecode's own words."""
    sources = (("identity-filler.tsv", "machines_count"), ("serial-filler.tsv", "evidence_count"))
    return [
        Row(
            field=f"{row['structure']}/{row['field']}",
            value=row["value"],
            label=row["confidence"],
            kind=row["class"],
            machines=int(row[weight]),
        )
        for name, weight in sources
        for row in table(folder / name)
        if row["value"] not in OWN_WORDS
    ]


def read_genuine_rows(folder: Path) -> list[Row]:
    """Values that look odd and are genuine."""
    return [
        Row(
            field=f"{row['structure']}/{row['field']}",
            value=row["value"],
            label="genuine",
            kind=row["oddness"],
            machines=int(row["machines_count"]),
        )
        for row in table(folder / "identity-genuine.tsv")
    ]


def recognised(rows: Iterable[Row]) -> Share:
    """The share of machines whose value is called blank or filler."""
    part, whole = 0, 0
    for row in rows:
        whole += row.machines
        if classify(row.field, row.value).state is not State.VALUE:
            part += row.machines
    return Share(part=part, whole=whole)


def orders(rows: Iterable[Mapping[str, str]]) -> Counter[str]:
    """How often each order was said of pairs that are older and newer by date."""
    return Counter(compare_versions(row["older"], row["newer"]).order.value for row in rows)
