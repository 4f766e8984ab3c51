"""Captures the units of `closeout demo` of notebooks in an emulator: profiles/demo/*/unit.jsonl.gz.

    python tools/capture_demo_units.py [UNIT ...]

Each unit's notebook is booted, the agent of this checkout captures it as root, and what is the
emulator's own in it gets invented names (`profiles/demo/renaming.toml`). Run it again after a
change of the readers (`make demo-units`): evidence holds exactly the questions that they ask. It
needs what booting a notebook needs, and takes two or three minutes.
"""

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Final

TOP: Final = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(TOP / "tests"))

from closeout.cli.demo import UNIT_FILE  # noqa: E402 - the notebooks are found first
from closeout.kernel.evidence import Evidence  # noqa: E402
from closeout.kernel.evidence_file import decode_evidence, encode_evidence  # noqa: E402
from notebook.description import load_notebook  # noqa: E402
from notebook.image import built_image  # noqa: E402
from notebook.renaming import rename_evidence, shipped_list  # noqa: E402
from notebook.session import Session  # noqa: E402
from notebook.template import restored  # noqa: E402

DEMO: Final = TOP / "profiles" / "demo"
IN_GUEST: Final = "/tmp/unit.jsonl.gz"  # noqa: S108 - a notebook's own, and nobody else is in it
MOST_SECONDS: Final = 300


class CaptureError(RuntimeError):
    """The agent in the notebook did not end well; the text is its own."""


def capture_unit(session: Session, unit: str) -> Evidence:
    """What the agent in a booted notebook captures as root, renamed as the unit of the demo."""
    session.run("rm", "-f", IN_GUEST)  # of an earlier capture: nothing is overwritten
    ran = session.run("closeout", "capture", "-o", IN_GUEST, seconds=MOST_SECONDS)
    if ran.status:
        raise CaptureError(f"{unit}: {ran.err.decode('utf-8', 'replace').strip()}")
    captured = decode_evidence(session.read(IN_GUEST), name=unit)
    return rename_evidence(captured, unit)


def main(asked: Sequence[str]) -> None:
    """Writes the evidence of every unit, or of those that are named."""
    image = built_image()
    for unit, renaming in shipped_list().units.items():
        if asked and unit not in asked:
            continue
        with restored(load_notebook(renaming.notebook), image) as machine:
            evidence = capture_unit(machine.session, unit)
        file = DEMO / unit / UNIT_FILE
        file.write_bytes(encode_evidence(evidence))
        print(f"{file.relative_to(TOP)}: {len(evidence.records)} readings")


if __name__ == "__main__":
    main(sys.argv[1:])
