"""Prints how well filler rules and version order do on public collections.

python tools/measure_fields.py ../shared/data
"""

import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT / "tests"), str(ROOT / "agent")]

from closeout.decode.filler import State, classify  # noqa: E402 - found on the path set above
from oracles.field_figures import (  # noqa: E402 - found on the path set above
    Row,
    orders,
    read_filler_rows,
    read_genuine_rows,
    recognised,
    table,
)
from strategies.serials import generated  # noqa: E402 - found on the path set above

SERIALS_OF_A_SHAPE = 10_000


def print_share(name: str, rows: list[Row]) -> None:
    """One line: name, share in per cent, machines, rows."""
    share = recognised(rows)
    print(f"{name:34} {share.percent:8.4f} %  of {share.whole} machines, {len(rows)} rows")


def print_fillers(folder: Path) -> None:
    """Recall by confidence and by class, and false alarms."""
    rows = read_filler_rows(folder)
    for label in ("sure", "likely"):
        print_share(f"recall {label}", [row for row in rows if row.label == label])
    for kind in sorted({row.kind for row in rows}):
        print_share(f"  class {kind}", [row for row in rows if row.kind == kind])
    print_share("false alarms", read_genuine_rows(folder))


def print_serials() -> None:
    """False alarms on generated serials, by shape."""
    for (field, name), texts in generated(SERIALS_OF_A_SHAPE).items():
        alarms = sum(classify(field, text).state is not State.VALUE for text in texts)
        print(f"{name:34} {100 * alarms / len(texts):8.4f} %  of {len(texts)} called filler")


def print_orders(folder: Path) -> None:
    """Right, wrong and unknown on all pairs and on those that share their prefix."""
    rows = table(folder / "firmware-versions.tsv")
    shared = [row for row in rows if row["same_prefix"] == "1"]
    for name, pairs in (("order, all pairs", rows), ("order, same prefix", shared)):
        said = orders(pairs)
        whole = len(pairs)
        decided = whole - said["unknown"]
        print(
            f"{name:34} right {100 * said['less'] / whole:.2f} %, "
            f"of the decided {100 * said['less'] / decided:.2f} %, "
            f"unknown {100 * said['unknown'] / whole:.2f} %  of {whole}"
        )


def main() -> None:
    """Prints all figures for the folder named as argument."""
    folder = Path(sys.argv[1])
    print_fillers(folder)
    print_serials()
    print_orders(folder)


if __name__ == "__main__":
    main()
