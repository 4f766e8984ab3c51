"""Boots an invented notebook: a shell in it, or one program.

    python tests/notebook list
    python tests/notebook build
    python tests/notebook suite [--booted]
    python tests/notebook record fen-14
    python tests/notebook faults osier-15/fan-stopped
    python tests/notebook boot fen-14
    python tests/notebook boot fen-14 --user technician -- closeout check --out /tmp/reports

From a snapshot it is there in seconds (the first time a snapshot is made); `--cold` starts it anew.
"""

import argparse
import os
import selectors
import socket
import sys
import termios
import time
import tty
from collections.abc import Sequence
from pathlib import Path
from typing import Final

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from notebook.description import DescriptionError, load_notebook, notebook_names
from notebook.image import Image, built_image
from notebook.machine import EmulatorError, Machine, started
from notebook.matrix import command
from notebook.orders import OrderError
from notebook.record import FIXTURES, record
from notebook.session import GuestError
from notebook.suite import run_suite_booted, run_suite_in_root
from notebook.template import restored

LEAVE: Final = b"\x1d"  # control and ]
TROUBLES: Final = (DescriptionError, EmulatorError, GuestError, OrderError)


def main() -> int:
    """Ends as the program in the notebook ended, or with 2 and one line."""
    given = sys.argv[1:]
    cut = given.index("--") if "--" in given else len(given)
    asked = _arguments().parse_args(given[:cut])
    asked.program = given[cut + 1 :]
    try:
        return int(asked.run(asked))
    except TROUBLES as trouble:
        print(f"notebook: {trouble}", file=sys.stderr)
        return 2


def _arguments() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="notebook", description=(__doc__ or "").split("\n")[0])
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    listed = commands.add_parser("list", help="the notebooks that are described")
    listed.set_defaults(run=_list)
    built = commands.add_parser("build", help="build the image, if it is not there")
    built.set_defaults(run=_build)
    booted = commands.add_parser("boot", help="boot a notebook")
    booted.add_argument("name", metavar="NOTEBOOK")
    booted.add_argument("--cold", action="store_true", help="not from a snapshot")
    booted.add_argument("--user", default="root", choices=("root", "technician"))
    booted.add_argument("--seconds", type=float, default=300, help="for the program; default 300")
    booted.add_argument(
        "--bring", nargs=2, metavar=("FROM", "TO"), help="then copy a file of the guest out of it"
    )
    booted.usage = "notebook boot NOTEBOOK [--cold] [--user USER] [--seconds N] [-- PROGRAM ...]"
    booted.set_defaults(run=_boot)
    suite = commands.add_parser("suite", help="the project's tests on the image's Python")
    suite.add_argument("--booted", action="store_true", help="in a guest: those that ask a machine")
    suite.usage = "notebook suite [--booted] [-- PYTEST-ARGUMENT ...]"
    suite.set_defaults(run=_suite)
    matrix = commands.add_parser("faults", help="planted faults, and whether each is named right")
    command.add_arguments(matrix)
    recorded = commands.add_parser("record", help="record what tools in a notebook say")
    recorded.add_argument("names", nargs="+", metavar="NOTEBOOK")
    recorded.set_defaults(run=_record)
    return parser


def _list(_: argparse.Namespace) -> int:
    for name in notebook_names():
        print(f"{name:28} {load_notebook(name).title}")
    return 0


def _build(_: argparse.Namespace) -> int:
    print(_image().folder)
    return 0


def _suite(asked: argparse.Namespace) -> int:
    run_suite = run_suite_booted if asked.booted else run_suite_in_root
    return run_suite(_image(), asked.program)


def _record(asked: argparse.Namespace) -> int:
    for name in asked.names:
        record(name, _image(), FIXTURES / name)
    return 0


def _boot(asked: argparse.Namespace) -> int:
    notebook = load_notebook(asked.name)
    image = _image()
    begun = time.monotonic()
    start = started if asked.cold else restored
    with start(notebook, image) as machine:
        print(f"{asked.name}: ready after {time.monotonic() - begun:.1f} s", file=sys.stderr)
        if not asked.program:
            return _shell(machine)
        status = _program(machine, asked.program, asked.user, asked.seconds)
        if asked.bring:
            Path(asked.bring[1]).write_bytes(machine.session.read(asked.bring[0]))
        return status


def _image() -> Image:
    begun = time.monotonic()
    image = built_image()
    if (took := time.monotonic() - begun) > 1:
        print(f"image built in {took:.0f} s", file=sys.stderr)
    return image


def _program(machine: Machine, program: Sequence[str], user: str, seconds: float) -> int:
    ran = machine.session.run(*program, user=user, seconds=seconds)
    sys.stdout.buffer.write(ran.out)
    sys.stderr.buffer.write(ran.err)
    print(f"status {ran.status} after {ran.seconds:.1f} s", file=sys.stderr)
    return ran.status


def _shell(machine: Machine) -> int:
    """The guest's console on this terminal, until control and ] is pressed."""
    print("press Enter for the shell, control and ] to leave", file=sys.stderr)
    with socket.socket(socket.AF_UNIX) as console:
        console.connect(str(machine.places.console))
        before = termios.tcgetattr(0)
        tty.setraw(0)
        try:
            _relay(console)
        finally:
            termios.tcsetattr(0, termios.TCSADRAIN, before)
    return 0


def _relay(console: socket.socket) -> None:
    selector = selectors.DefaultSelector()
    selector.register(0, selectors.EVENT_READ)
    selector.register(console, selectors.EVENT_READ)
    while True:
        for key, _ in selector.select():
            if key.fileobj is console:
                arrived = console.recv(4096)
                os.write(1, arrived)
            else:
                arrived = os.read(0, 4096)
                console.sendall(arrived)
            if not arrived or LEAVE in arrived:
                return


if __name__ == "__main__":
    sys.exit(main())
