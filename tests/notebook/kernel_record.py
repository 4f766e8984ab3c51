"""Records what the kernel answers to the table of facts, notebook after notebook.

    python tests/notebook/kernel_record.py

What was recorded before is replaced; the change shows what this kernel answers otherwise.
"""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Final
from unittest.mock import patch

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from notebook import machine
from notebook.description import load_notebook
from notebook.emulator import emulator_command
from notebook.image import Image, built_image
from notebook.kernel_facts import NOTEBOOKS, load_facts, write_fixture
from notebook.kernel_moments import ask_everything
from notebook.template import restored

SHARED_DRIVE: Final = "shared-drive"
SHARED_DRIVE_BYTES: Final = 64 << 20
SHARED_DRIVE_DEVICES: Final = (
    *("-device", "nvme-subsys,id=subsystem,nqn=shared"),
    *("-blockdev", f"null-co,node-name=shared,size={SHARED_DRIVE_BYTES},read-zeroes=on"),
    *("-device", "nvme,id=many,serial=MP0001,subsys=subsystem,bus=card-slot"),
    *("-device", "nvme-ns,drive=shared,bus=many,shared=on"),
)
"""An NVMe controller whose namespace others could reach too; it takes the card reader's slot."""


@contextmanager
def opened(name: str, image: Image) -> Iterator[machine.Machine]:
    """The notebook of that name, or one with a shared drive, which no description tells."""
    if name != SHARED_DRIVE:
        with restored(load_notebook(name), image) as running:
            yield running
        return
    notebook = replace(load_notebook("osier-15"), card_reader=None)

    def command(*given: object, **more: object) -> tuple[str, ...]:
        return (*emulator_command(*given, **more), *SHARED_DRIVE_DEVICES)  # type: ignore[arg-type]

    with (
        patch.object(machine, "emulator_command", command),
        machine.started(notebook, image) as running,
    ):
        yield running


def main() -> int:
    """Writes the fixture anew."""
    image = built_image()
    facts = load_facts()
    told = []
    for name in (*NOTEBOOKS, "skerry-13-new-board", SHARED_DRIVE):
        with opened(name, image) as running:
            told += ask_everything(running, name, facts)
    write_fixture(image.release, told)
    return 0


if __name__ == "__main__":
    sys.exit(main())
