"""A program that reads a unit with one read that hangs and one child that cannot be killed.

    python hanging_unit.py BUDGET [BEGUN]

Prints a line, the ids of the children it left behind, and the code of the hanging read. There is a
file BEGUN once that read hangs.
"""

import signal
import sys
import time
from pathlib import Path

from closeout.kernel.crew import gather
from closeout.kernel.crew_terms import CrewTerms
from closeout.kernel.failure import ReadError
from closeout.kernel.record import Journal
from closeout.kernel.recorded import RecordedTree
from closeout.kernel.task import Task
from closeout.kernel.tree import KernelTree


class Unit:
    """Everything answers, but `hang` sleeps for an hour and takes no signal that can be refused."""

    def read(self, path: str) -> bytes:
        """The path itself."""
        if path == "hang":
            for number in (signal.SIGTERM, signal.SIGINT, signal.SIGHUP, signal.SIGPIPE):
                signal.signal(number, signal.SIG_IGN)
            for begun in sys.argv[2:]:
                Path(begun).touch()
            time.sleep(3600)
        return path.encode()

    def names(self, folder: str) -> tuple[str, ...]:
        """The folder alone."""
        return (folder,)

    def target(self, link: str) -> str:
        """The link itself."""
        return link

    def ask(self, question: str) -> bytes:
        """The question itself."""
        return question.encode()


def ask(tree: KernelTree) -> None:
    """One question that hangs among others."""
    for path in ("before", "hang", "after"):
        try:
            tree.read(path)
        except ReadError:
            continue


def leave(pid: int) -> None:
    """Instead of killing: as if the child slept where no signal reaches it."""
    sys.stdout.write(f"left {pid}\n")


def main(budget: float) -> None:
    """Read the unit; `budget` is each read's, in seconds."""
    sys.stdout.write("started\n")
    journal = Journal()
    terms = CrewTerms(
        clock=time.monotonic_ns,
        until=time.monotonic_ns() + 60 * 10**9,
        budget=lambda _: budget,
        kill=leave,
    )
    gather([Task(name="unit", ask=ask)], Unit(), journal, terms)
    tree = RecordedTree(journal)
    sys.stdout.write(f"{tree.read('before').decode()} {tree.read('after').decode()}\n")
    try:
        tree.read("hang")
    except ReadError as failure:
        sys.stdout.write(f"{failure.code}\n")


if __name__ == "__main__":
    main(float(sys.argv[1]))
