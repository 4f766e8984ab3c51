"""Removes each error rescue in turn and runs the tests: a rescue that nobody misses is named.

    pytest --cov --cov-context=test
    python tools/remove_rescues.py [PACKAGE ...]

Without names: every package that a reading goes through. A mutant is a copy of the source in
which one `except` clause, or one `suppress`, is gone. It must make a test fail; those that come by
the rescue, as the coverage says, are run. All of them must pass on a copy with nothing removed, or
a failure would say nothing.
"""

import ast
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from coverage import CoverageData

TOP: Final = Path(__file__).resolve().parent.parent
SOURCE: Final = TOP / "agent"
PACKAGES: Final = ("check.py", "readers", "decode", "judge", "kernel")
WHOLE: Final = ("tests/failures/test_every_reading.py",)
"""Tests that a rescue is looked for in where none comes by it: what a child does goes unseen."""
SLOW: Final = "tests/failures/"
"""Tests that take minutes: they are run last, and so only where no other notices."""
WORKERS: Final = 2
PLAINLY: Final = ("-p", "no:cacheprovider", "-p", "no:randomly", "--hypothesis-profile=red")
"""In the order given, and without a search for the smallest example of a failure."""
LIMIT: Final = 900
"""Seconds for the tests of one mutant; a mutant that hangs them is caught too."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rescue:
    """One rescue: its file below the source, its line, and what it catches."""

    file: Path
    line: int
    last_line: int
    catches: str

    def place(self) -> str:
        """As an editor finds it."""
        return f"agent/{self.file}:{self.line}: {self.catches}"


def remove_rescue(tree: ast.Module, line: int) -> bool:
    """Whether there was a rescue at the line; it is taken out of the tree."""
    for node in ast.walk(tree):
        for _, statements in ast.iter_fields(node):
            if not isinstance(statements, list):
                continue
            for index, statement in enumerate(statements):
                left = _without(statement, line)
                if left is not None:
                    statements[index : index + 1] = left
                    return True
    return False


def _without(statement: object, line: int) -> list[ast.stmt] | None:
    """What is left of a `try` or a `with suppress(...)`; None where the rescue is not its own."""
    if isinstance(statement, ast.With):
        is_it = statement.lineno == line and _suppresses(statement)
        return statement.body if is_it else None
    if not isinstance(statement, ast.Try):
        return None
    kept = [rescue for rescue in statement.handlers if rescue.lineno != line]
    if len(kept) == len(statement.handlers):
        return None
    statement.handlers = kept
    has_rest = bool(kept or statement.finalbody)
    return [statement] if has_rest else [*statement.body, *statement.orelse]


def find_rescues(packages: Sequence[str]) -> Iterator[Rescue]:
    """Every rescue below the packages, in the order of files and lines."""
    for package in packages:
        root = SOURCE / "closeout" / package
        for path in [root] if root.is_file() else sorted(root.rglob("*.py")):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.ExceptHandler | ast.With) and (caught := _catches(node)):
                    yield Rescue(
                        file=path.relative_to(SOURCE),
                        line=node.lineno,
                        last_line=node.end_lineno or node.lineno,
                        catches=caught,
                    )


def _catches(node: ast.ExceptHandler | ast.With) -> str:
    if isinstance(node, ast.ExceptHandler):
        return f"except {ast.unparse(node.type)}" if node.type else "except"
    if _suppresses(node):
        return ast.unparse(node.items[0].context_expr)
    return ""


def _suppresses(node: ast.With) -> bool:
    call = node.items[0].context_expr
    return isinstance(call, ast.Call) and ast.unparse(call.func) == "suppress"


def is_missed(rescue: Rescue, tests: Sequence[str]) -> bool:
    """Whether one of the tests fails without the rescue."""
    with source_copy() as copy:
        target = copy / rescue.file
        tree = ast.parse(target.read_text(encoding="utf-8"))
        if not remove_rescue(tree, rescue.line):
            raise RuntimeError(f"{rescue.place()}: not found")
        target.write_text(ast.unparse(tree), encoding="utf-8")
        return _fails(tests, copy)


@contextmanager
def source_copy() -> Iterator[Path]:
    """A copy of the source as a checkout has it, to be spoiled."""
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "agent"
        shutil.copytree(SOURCE, copy, ignore=shutil.ignore_patterns("__pycache__"))
        for name in ("profiles", "reports", "pyproject.toml"):
            (Path(folder) / name).symlink_to(TOP / name)
        yield copy


def tests_of(rescue: Rescue, covered: CoverageData) -> tuple[str, ...]:
    """The tests that come by a rescue's own lines, without their parameters."""
    by_line = covered.contexts_by_lineno(str(SOURCE / rescue.file))
    # The line of `except` itself is passed wherever any error is thrown up to it.
    first = rescue.line if rescue.catches.startswith("suppress") else rescue.line + 1
    lines = range(first, rescue.last_line + 1)
    contexts = {context for line in lines for context in by_line.get(line, ()) if context}
    names = {context.partition("|")[0].partition("[")[0].partition("@")[0] for context in contexts}
    return tuple(sorted(names, key=lambda name: (name.startswith(SLOW), name))) or WHOLE


def _fails(tests: Sequence[str], source: Path, *options: str, limit: int = LIMIT) -> bool:
    command = [sys.executable, "-m", "pytest", "-x", "-q", *PLAINLY]
    try:
        done = subprocess.run(
            [*command, *options, *tests],
            cwd=TOP,
            env={**os.environ, "PYTHONPATH": str(source), "PYTHONDONTWRITEBYTECODE": "1"},
            capture_output=True,
            timeout=limit,
            check=False,
        )
    except subprocess.TimeoutExpired:
        return True
    if done.returncode not in {0, 1}:
        raise RuntimeError(done.stdout.decode("utf-8", "replace")[-2000:])
    return done.returncode == 1


def main(packages: Sequence[str]) -> int:
    """Prints each rescue with what became of it; fails where one is not missed."""
    covered = CoverageData(str(TOP / ".coverage"))
    covered.read()
    rescues = tuple(find_rescues(packages or PACKAGES))
    near = sorted({test for rescue in rescues for test in tests_of(rescue, covered)})
    with source_copy() as copy:
        if _fails(near, copy, "-n", str(WORKERS), limit=WORKERS * LIMIT):
            print("a test fails with nothing removed")
            return 1
    survivors = 0

    def judge(rescue: Rescue) -> bool:
        return is_missed(rescue, tests_of(rescue, covered))

    with ThreadPoolExecutor(WORKERS) as room:
        for rescue, is_one in zip(rescues, room.map(judge, rescues), strict=True):
            print(f"{'missed' if is_one else 'NOT MISSED'}  {rescue.place()}", flush=True)
            survivors += not is_one
    print(f"{len(rescues)} rescues, {survivors} not missed")
    return 1 if survivors or not rescues else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
