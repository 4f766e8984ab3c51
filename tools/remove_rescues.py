"""Removes each error rescue in turn and runs the tests: a rescue that nobody misses is named.

    python tools/remove_rescues.py [PACKAGE ...]

Without names: every package that a reading goes through. A mutant is a copy of the source in
which one `except` clause, or one `suppress`, is gone; it must make the tests fail.
"""

import ast
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Final

TOP: Final = Path(__file__).resolve().parent.parent
SOURCE: Final = TOP / "agent"
PACKAGES: Final = ("check.py", "readers", "decode", "judge", "kernel")
QUICK: Final = ("tests/failures", "-m", "not slow and not notebook")
WORKERS: Final = 2
LIMIT: Final = 900
"""Seconds for the tests of one mutant; a mutant that hangs them is caught too."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rescue:
    """One rescue: its file below the source, its line, and what it catches."""

    file: Path
    line: int
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
                caught = _catches(node)
                if caught:
                    line = node.lineno  # type: ignore[attr-defined]  # both kinds have one
                    yield Rescue(file=path.relative_to(SOURCE), line=line, catches=caught)


def _catches(node: ast.AST) -> str:
    if isinstance(node, ast.ExceptHandler):
        return f"except {ast.unparse(node.type)}" if node.type else "except"
    if isinstance(node, ast.With) and _suppresses(node):
        return ast.unparse(node.items[0].context_expr)
    return ""


def _suppresses(node: ast.With) -> bool:
    call = node.items[0].context_expr
    return isinstance(call, ast.Call) and ast.unparse(call.func) == "suppress"


def is_missed(rescue: Rescue) -> bool:
    """Whether the tests fail without the rescue: those of failing readings, then its module's."""
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "agent"
        shutil.copytree(SOURCE, copy, ignore=shutil.ignore_patterns("__pycache__"))
        target = copy / rescue.file
        tree = ast.parse(target.read_text(encoding="utf-8"))
        if not remove_rescue(tree, rescue.line):
            raise RuntimeError(f"{rescue.place()}: not found")
        target.write_text(ast.unparse(tree), encoding="utf-8")
        for name in ("profiles", "reports", "pyproject.toml"):
            (Path(folder) / name).symlink_to(TOP / name)
        return any(_fails(selection, copy) for selection in (QUICK, *_own_tests(rescue)))


def _own_tests(rescue: Rescue) -> Iterator[tuple[str, ...]]:
    package = TOP / "tests" / rescue.file.parent.name
    if package.is_dir():
        yield (str(package), "-m", "not notebook")


def _fails(selection: tuple[str, ...], source: Path) -> bool:
    command = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", *selection]
    try:
        done = subprocess.run(
            command,
            cwd=TOP,
            env={**os.environ, "PYTHONPATH": str(source), "PYTHONDONTWRITEBYTECODE": "1"},
            capture_output=True,
            timeout=LIMIT,
            check=False,
        )
    except subprocess.TimeoutExpired:
        return True
    return done.returncode != 0


def main(packages: Sequence[str]) -> int:
    """Prints each rescue with what became of it; fails where one is not missed."""
    rescues = tuple(find_rescues(packages or PACKAGES))
    with ThreadPoolExecutor(WORKERS) as room:
        missed = list(zip(rescues, room.map(is_missed, rescues), strict=True))
    for rescue, is_one in missed:
        print(f"{'missed' if is_one else 'NOT MISSED'}  {rescue.place()}")
    survivors = sum(not is_one for _, is_one in missed)
    print(f"{len(missed)} rescues, {survivors} not missed")
    return 1 if survivors or not missed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
