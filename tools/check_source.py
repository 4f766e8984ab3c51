"""The house rules that no other tool knows; prints every remark and ends 1 if there is any."""

import re
import sys
import tomllib
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from source_syntax import calls_in, docstrings_in, names_in

MOST_LINES: Final = 400
WORDS: Final = tomllib.loads((Path(__file__).parent / "words.toml").read_text("utf-8"))
CODE_FOLDERS: Final = ("agent", "tools", "tests")
READERS: Final = Path("agent/closeout/readers")
PRODUCT_FOLDERS: Final = ("agent", "profiles")
SHOWN: Final = ("profiles", "reports", "docs", "README.md", "agent/closeout/demo")
RENAMING: Final = Path("profiles/demo/renaming.toml")
"""Names what is taken out of captured evidence, so it must."""
HOME_FOLDERS: Final = re.compile(r"/(home|root|Users)/\w")
STANDARD_FOLDERS: Final = frozenset({Path("/"), Path("/tmp"), Path("/srv"), Path("/opt")})  # noqa: S108 - compared, never created
TEXT_ENDINGS: Final = frozenset(
    {"", ".css", ".html", ".jinja", ".json", ".md", ".py", ".svg", ".toml", ".txt"}
)
KERNEL_PATH: Final = re.compile(r"\b(sys|proc|run)/\w")


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """One text file of the project; `path` is relative to the top."""

    path: Path
    text: str
    top: Path


@dataclass(frozen=True, slots=True, kw_only=True)
class Remark:
    """What is wrong, and on which line."""

    path: Path
    line: int
    message: str

    def as_line(self) -> str:
        """As compilers print it, so that editors find the place."""
        return f"{self.path}:{self.line}: {self.message}"


Rule = Callable[[Source], Iterator[Remark]]


def check_length(source: Source) -> Iterator[Remark]:
    """A module that outgrew the house."""
    lines = source.text.count("\n")
    if source.path.suffix == ".py" and lines > MOST_LINES:
        yield _remark(source, lines, f"{lines} lines; at most {MOST_LINES} are wanted")


def check_names(source: Source) -> Iterator[Remark]:
    """Names that hold an empty word. Tests may name what they test."""
    if source.path.suffix != ".py" or source.path.parts[0] == "tests":
        return
    for line, name in names_in(source.path, source.text):
        for word in words_of(name):
            if word in WORDS["empty_names"]:
                yield _remark(source, line, f"name {name!r} holds the empty word {word!r}")


def words_of(name: str) -> tuple[str, ...]:
    """The words of a name between underscores and camel humps, in small letters."""
    parted = re.sub(r"(?<=[a-z0-9])(?=[A-Z])|(?<=[A-Z])(?=[A-Z][a-z])", "_", name)
    return tuple(word for word in parted.lower().split("_") if word)


def check_kernel_path(source: Source) -> Iterator[Remark]:
    """A reader whose docstrings do not say which kernel path it reads."""
    if source.path.parent != READERS or source.path.suffix != ".py":
        return
    is_named = any(KERNEL_PATH.search(docstring) for docstring in docstrings_in(source.text))
    if "Reader" in calls_in(source.text) and not is_named:
        yield _remark(source, 1, "a reader's docstring names its kernel path: sys/... or proc/...")


def check_virtual_machines(source: Source) -> Iterator[Remark]:
    """The name of an emulator in the product."""
    if source.path.parts[0] in PRODUCT_FOLDERS and source.path != RENAMING:
        yield from _find_words(source, WORDS["virtual_machines"], "names an emulator")


def check_makers(source: Source) -> Iterator[Remark]:
    """The name of a real maker in what the product shows."""
    shown = any(source.path.is_relative_to(folder) for folder in SHOWN)
    if shown and source.path != RENAMING:
        yield from _find_words(source, WORDS["real_makers"], "names a real maker")


def check_machine_paths(source: Source) -> Iterator[Remark]:
    """A path that exists on one person's machine only."""
    own = {source.top, source.top.parent} - STANDARD_FOLDERS
    for number, line in _numbered(source):
        if HOME_FOLDERS.search(line) or any(f"{folder}/" in line for folder in own):
            yield _remark(source, number, "a path of one machine")


def check_left_undone(source: Source) -> Iterator[Remark]:
    """A note that something is still to do."""
    words = [word.upper() for word in WORDS["left_undone"]]
    yield from _find_words(source, words, "left undone", re.NOFLAG)


RULES: Final[tuple[Rule, ...]] = (
    check_length,
    check_names,
    check_kernel_path,
    check_virtual_machines,
    check_makers,
    check_machine_paths,
    check_left_undone,
)


def check_source(source: Source) -> Iterator[Remark]:
    """Every remark on one file."""
    for rule in RULES:
        yield from rule(source)


def load_sources(top: Path) -> Iterator[Source]:
    """The project's own text files in order of their paths."""
    folders = (*CODE_FOLDERS, "profiles", "reports", "docs", ".ci")
    found = [path for folder in folders for path in (top / folder).rglob("*")]
    at_top = [*top.glob("*.md"), *top.glob("*.toml"), top / "Makefile"]
    for path in sorted([*found, *at_top]):
        if path.is_file() and path.suffix in TEXT_ENDINGS and "__pycache__" not in path.parts:
            text = path.read_text("utf-8", "replace")  # some examples are broken on purpose
            yield Source(path=path.relative_to(top), text=text, top=top)


def _numbered(source: Source) -> Iterator[tuple[int, str]]:
    return enumerate(source.text.splitlines(), start=1)


def _find_words(
    source: Source, words: Iterable[str], complaint: str, flags: re.RegexFlag = re.IGNORECASE
) -> Iterator[Remark]:
    alternatives = "|".join(map(re.escape, words))
    pattern = re.compile(rf"(?<![A-Za-z0-9])({alternatives})(?![A-Za-z0-9])", flags)
    for number, line in _numbered(source):
        for found in pattern.finditer(line):
            yield _remark(source, number, f"{complaint}: {found[0]}")


def _remark(source: Source, line: int, message: str) -> Remark:
    return Remark(path=source.path, line=line, message=message)


def run(top: Path) -> int:
    """Prints all remarks; 0 if there are none, 1 if there are, 2 if no file was found."""
    sources = tuple(load_sources(top))
    remarks = [remark for source in sources for remark in check_source(source)]
    for remark in remarks:
        print(remark.as_line())
    print(f"check_source: {len(sources)} files, {len(remarks)} remarks")
    return 2 if not sources else int(bool(remarks))


if __name__ == "__main__":
    sys.exit(run(Path(__file__).resolve().parents[1]))
