"""Writes the reports of the demo units as examples: reports/examples/UNIT.json.

    python tools/make_examples.py

Run it again after a change of readers, rules, catalogue, profiles or of the report's form; a test
compares what is kept with what this makes.
"""

from pathlib import Path
from typing import Final

from closeout.check import judge_evidence, read_out
from closeout.cli.demo import ORDER_FILE, DemoUnit, demo_units
from closeout.cli.terms import load_demands
from closeout.report.as_json import render_json

TOP: Final = Path(__file__).resolve().parent.parent
EXAMPLES: Final = TOP / "reports" / "examples"
FIRST_ATTEMPT: Final = 1


def make_example(unit: DemoUnit) -> bytes:
    """The `report.json` of a unit's first attempt with its answers: always the same bytes."""
    evidence = unit.evidence()
    readout = read_out(evidence)
    demands = load_demands(None, unit.folder / ORDER_FILE)
    terms = demands.terms(readout.inventory, FIRST_ATTEMPT)
    return render_json(unit.answer(judge_evidence(evidence, readout, terms)))


def main() -> None:
    """Writes the example of every unit."""
    EXAMPLES.mkdir(exist_ok=True)
    for unit in demo_units():
        file = EXAMPLES / f"{unit.folder.name}.json"
        file.write_bytes(make_example(unit))
        print(file.relative_to(TOP))


if __name__ == "__main__":
    main()
