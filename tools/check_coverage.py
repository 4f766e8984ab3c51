"""Coverage of each package against its threshold, from coverage's JSON report."""

import json
import sys
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any, Final

PROVEN_WHOLE: Final = ("model", "decode", "judge", "expect")
WHOLE: Final = 100
REST: Final = 95


@dataclass(frozen=True, slots=True, kw_only=True)
class Package:
    """Lines and branches of one package, and how many of them the tests ran."""

    name: str
    covered: int
    total: int

    @property
    def threshold(self) -> int:
        """Per cent that must be covered."""
        return WHOLE if self.name in PROVEN_WHOLE else REST

    @property
    def suffices(self) -> bool:
        """Enough is covered, and there was something to cover."""
        return self.total > 0 and 100 * self.covered >= self.threshold * self.total


def package_of(path: str) -> str:
    """`decode` for a file in closeout/decode, `check` for closeout/check.py."""
    parts = PurePosixPath(path).parts
    return PurePosixPath(parts[parts.index("closeout") + 1]).stem


def load_packages(files: Mapping[str, Any]) -> Iterator[Package]:
    """The packages of a report's `files`; one of `PROVEN_WHOLE` without a file is empty."""
    covered: Counter[str] = Counter()
    total: Counter[str] = Counter(dict.fromkeys(PROVEN_WHOLE, 0))
    for path, file in files.items():
        figures = file["summary"]
        covered[package_of(path)] += figures["covered_lines"] + figures["covered_branches"]
        total[package_of(path)] += figures["num_statements"] + figures["num_branches"]
    for name in sorted(total):
        if total[name] or name in PROVEN_WHOLE:
            yield Package(name=name, covered=covered[name], total=total[name])


def gaps(files: Mapping[str, Any], names: frozenset[str]) -> Iterator[str]:
    """A line for each file of these packages that is not covered whole: what no test ran."""
    for path, file in sorted(files.items()):
        branches = file["missing_branches"]
        if package_of(path) in names and (file["missing_lines"] or branches):
            yield f"{path}: lines {file['missing_lines']}, branches {branches}"


def run(report: Path) -> int:
    """Prints the table, and the gaps of what is covered too little; 0 if nothing is, else 1."""
    files = json.loads(report.read_text("utf-8"))["files"]
    packages = tuple(load_packages(files))
    for package in packages:
        mark = "" if package.suffices else "  too little"
        share = f"{package.covered}/{package.total}"
        print(f"{package.name:12} {share:>12}  at least {package.threshold} %{mark}")
    wanting = frozenset(package.name for package in packages if not package.suffices)
    for line in gaps(files, wanting):
        print(line)
    return int(bool(wanting))


if __name__ == "__main__":
    sys.exit(run(Path(sys.argv[1])))
