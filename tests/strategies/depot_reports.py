"""Reports for a ledger: small ones of many units, and all the places that they may lie in."""

import gzip
import json
from collections.abc import Mapping
from hashlib import sha256
from pathlib import Path
from typing import Any

from sqlalchemy import select

from closeout.depot.address import read_address
from closeout.depot.examine import Terms
from closeout.depot.folders import find_arrivals
from closeout.depot.intake import Step, take_in
from closeout.depot.ledger import Ledger, make_ledger
from closeout.depot.tables import tables
from closeout.media.report_file import pack_report
from closeout.model.frozen import replace
from strategies.documents import sample_unrun

NOW = 1_795_170_000
NO_TERMS = Terms()
LINES = b'{"evidence":1}\n'
EVIDENCE = gzip.compress(LINES, mtime=0)
EVIDENCE_DIGEST = sha256(LINES).hexdigest()
Tree = dict[str, Any]
UNRUN = replace(sample_unrun(), order="WO-9", station="B-09")


def value(content: object) -> Tree:
    """A reading that has a value."""
    return {"state": "value", "value": content, "sources": []}


def device(position: str = "internal", **attributes: object) -> Tree:
    """A device of an inventory with values for attributes."""
    told = {
        name: content if isinstance(content, dict) else value(content)
        for name, content in attributes.items()
    }
    return {"place": "p", "label": "l", "position": position, "attributes": told}


def section(*devices: Tree) -> Tree:
    """A class of devices in an inventory."""
    return {"listing": {"state": "value", "places": [], "sources": []}, "devices": list(devices)}


def inventory(number: int = 1) -> Tree:
    """The inventory of the unit of that number, each of which has its own serials."""
    return {
        "system": section(device(serial=f"SN7K{number:06d}Q", uuid=uuid_of(number))),
        "board": section(device(serial=f"MB84F{number:06d}")),
        "drive": section(device(serial=f"DR93H{number:06d}", bus="nvme")),
        "wifi": section(device(mac=f"3c:1a:9f:{number >> 8 & 255:02x}:{number & 255:02x}:07")),
        "battery": section(device(serial=f"P{number:05d}K", manufacturer="Voltarn", model="VT-1")),
    }


def uuid_of(number: int) -> str:
    """A UUID as firmware gives it."""
    digits = sha256(str(number).encode()).hexdigest()
    return "-".join(
        (digits[:8], digits[8:12], f"4{digits[13:16]}", f"a{digits[17:20]}", digits[20:32])
    )


def finding(**changes: object) -> Tree:
    """A finding that failed."""
    return {
        "rule": "battery.health_percent",
        "subject": "BAT0",
        "label": "battery",
        "weight": "must",
        "outcome": "fail",
        "expected": "at least 60 %",
        "found": "51 %",
        "origin": "profile",
        "evidence": [],
        "answerable": False,
        "answer": None,
        "concession": None,
        "connection": "plug of the pack",
    } | changes


def tree_of(number: int = 1, **changes: object) -> Tree:
    """A report of that unit, by the second of the day."""
    return {
        "report": 1,
        "verdict": "hold",
        "reasons": ["battery"],
        "first_steps": [{"title": "Battery", "action": "Fit another pack.", "rules": []}],
        "circumstances": circumstances(number),
        "findings": [finding(), finding(rule="system.serial", outcome="pass")],
        "inventory": inventory(number),
        "words": {},
        "reader_microseconds": {},
        "redacted": False,
    } | changes


def circumstances(number: int = 1, **changes: object) -> Tree:
    """Who judged what, one unit after the other."""
    moment = {
        "text": f"2026-11-20T10:{number // 60 % 60:02d}:{number % 60:02d}Z",
        "source": "clock",
    }
    source = {"name": "fen-14", "revision": "4", "digest": "a" * 64}
    return {
        "agent": "closeout 0.1.0",
        "rules": source,
        "profile": source,
        "work_order": None,
        "order": f"T-{number}",
        "repairs": ["system-board"],
        "attempt": 1,
        "medium": "stick",
        "kernel": "Linux",
        "evidence_digest": EVIDENCE_DIGEST,
        "readings": 3,
        "started": moment,
        "finished": moment,
        "handling": {
            "operator": "T1", "station": "B-07", "stick": "", "stick_build": "9", "label": ""
        },
    } | changes  # fmt: skip


def raw_of(tree: object) -> bytes:
    """The bytes of a report."""
    return json.dumps(tree).encode()


def files_of(number: int = 1, **changes: object) -> Mapping[str, bytes]:
    """A report with its evidence."""
    return {"report.json": raw_of(tree_of(number, **changes)), "evidence.jsonl.gz": EVIDENCE}


def lay_down(folder: Path, files: Mapping[str, bytes]) -> Path:
    """The files in a new folder."""
    folder.mkdir(parents=True)
    for name, content in files.items():
        (folder / name).write_bytes(content)
    return folder


def lay_many(folder: Path, count: int, first: int = 1) -> Path:
    """So many attempts, each of an order of its own."""
    for number in range(first, first + count):
        lay_down(folder / f"T-{number}" / "attempt-0001-aa", files_of(number))
    return folder


def report_file(number: int = 1, **changes: object) -> bytes:
    """The same as one file of a stick."""
    names = files_of(number, **changes).items()
    return pack_report({f"T-{number}/attempt-0001-aa/{name}": raw for name, raw in names})


def add(address: str, *paths: Path, terms: Terms = NO_TERMS) -> tuple[Step, Ledger]:
    """The sum of all steps, and the ledger that they went into."""
    ledger = make_ledger(read_address(address, Path("/")))
    return add_to(ledger, *paths, terms=terms), ledger


def add_to(ledger: Ledger, *paths: Path, terms: Terms = NO_TERMS) -> Step:
    """The sum of all steps of one run."""
    steps = list(take_in(find_arrivals(paths), ledger, terms, NOW))
    names = ("added", "completed", "known", "forgotten", "unproven")
    sums = {name: sum(getattr(step, name) for step in steps) for name in names}
    return Step(**sums, spoiled=tuple(one for step in steps for one in step.spoiled))


def rows_of(ledger: Ledger) -> dict[str, list[tuple[object, ...]]]:
    """Every row of every table."""
    with ledger.reading() as connection:
        return {
            table.name: sorted(map(tuple, connection.execute(select(table)).all()))
            for table in tables.sorted_tables
        }
