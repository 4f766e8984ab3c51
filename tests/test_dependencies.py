"""What the wheel asks for is what the program imports: nothing is missing, nothing is for show."""

import ast
import re
import sys
import tomllib
from collections.abc import Iterator
from importlib.metadata import PackageNotFoundError, packages_distributions, requires
from pathlib import Path
from typing import Final

import pytest

import closeout

PACKAGE: Final = Path(closeout.__file__).parent
EXTRAS: Final = ("depot", "postgres", "spark", "seal", "pdf", "pades")
"""What a program needs that seals or verifies, keeps a ledger, asks it, or makes documents."""
PINNED: Final = frozenset({"pandas", "sqlglot"})
"""Not imported here: bounded, because what imports them does not know their newest yet."""
ON_DEMAND: Final = frozenset({"cpuinfo", "psutil", "psycopg", "pyarrow", "pyspark", "pyudev"})
"""Imported by name when first asked: for a second opinion, for a server, for Parquet."""


def imported_modules() -> Iterator[str]:
    """The top names of all modules that the program imports."""
    for path in PACKAGE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Import):
                yield from (alias.name.partition(".")[0] for alias in node.names)
            elif isinstance(node, ast.ImportFrom):
                yield str(node.module).partition(".")[0]


def plain_name(requirement: str) -> str:
    """The name of a distribution without version, in the form in which names are compared."""
    name = re.split(r"[^A-Za-z0-9._-]", requirement, maxsplit=1)[0]
    return re.sub(r"[-_.]+", "-", name).lower()


def requirements() -> list[str]:
    """What the installed program asks for; its project file says it where it runs uninstalled."""
    try:
        return requires("closeout") or []
    except PackageNotFoundError:
        project = tomllib.loads((PACKAGE.parents[1] / "pyproject.toml").read_text("utf-8"))
        own = project["project"]
        extras = own["optional-dependencies"]
        return [*own["dependencies"], *(line for name in EXTRAS for line in extras[name])]


@pytest.mark.wheel_oracle
def test_what_is_imported_is_what_is_required() -> None:
    distributions = packages_distributions()
    foreign = set(imported_modules()) - sys.stdlib_module_names - {"closeout"} | ON_DEMAND
    # A distribution that does not list its modules, as packaged by Debian, has its module's name.
    wanted = {
        plain_name(name) for module in foreign for name in distributions.get(module, [module])
    }
    required = (
        {
            plain_name(line)
            for line in requirements()
            if "extra ==" not in line
            or any(f"'{name}'" in line.replace('"', "'") for name in EXTRAS)
        }
        - {"closeout"}
        - PINNED
    )  # one extra takes in another
    assert required == wanted
