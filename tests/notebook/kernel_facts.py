"""What the product leans on of the kernel's answers: the table, and how a guest is asked for it.

`kernel_facts.toml` holds the table; `in_guest/facts.py` puts its questions inside a guest, as root
and as an ordinary user. `fixtures/facts-6.12.json` keeps what Debian 13's kernel answered.
"""

import gzip
import json
import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

HERE: Final = Path(__file__).parent
TABLE: Final = HERE / "kernel_facts.toml"
FIXTURE: Final = HERE / "fixtures" / "facts-6.12.json"
PROGRAM: Final = HERE / "in_guest" / "facts.py"
NOTEBOOKS: Final = ("fen-14", "skerry-13", "osier-15")
AT_REST: Final = "at rest"
HELD: Final = "held"
ASKED: Final = frozenset({"read", "names", "target"})
"""The kinds of questions that readers put to files; `ask` is answered by libraries."""
COUNTED: Final = re.compile(
    r"(?<=[/:])(hwmon|iio:device|cooling_device|input|event|mouse|c13:)\d+(?=/|$)"
)
"""Names that the kernel ends with a number in the order of drivers, which nothing fixes."""
KINDS: Final = ("read", "names", "target", "sizes", "mode", "open", HELD)


@dataclass(frozen=True, slots=True, kw_only=True)
class Asking:
    """Who asks, on which notebook, and at which moment."""

    notebook: str
    user: str
    moment: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """One question with the answer that is expected on 6.12.

    `wanted` has the expectations of the table; an answer fits if one of them does.
    """

    reader: str
    """The file under `agent/closeout` that leans on it; empty where none does yet."""
    on: tuple[str, ...]
    user: str
    moment: str
    kind: str
    path: str
    wanted: Mapping[str, Any]
    before: str
    """How 6.1 answered, where that is not the same."""

    def is_for(self, asking: Asking) -> bool:
        """The question is put there."""
        told = (self.user, self.moment) == (asking.user, asking.moment)
        return told and asking.notebook in self.on

    def fits(self, answer: Mapping[str, Any]) -> bool:
        """Whether the kernel answered as expected."""
        return any(_fits(answer, key, wanted) for key, wanted in self.wanted.items())


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """Every answer of one asking, as the guest's program gave them."""

    asking: Asking
    answers: tuple[Mapping[str, Any], ...]


def load_facts() -> tuple[Fact, ...]:
    """The whole table."""
    groups = tomllib.loads(TABLE.read_text("utf-8"))["group"]
    return tuple(_fact(group, told) for group in groups for told in group["facts"])


def unseen() -> dict[str, str]:
    """Errnos that readers know and no notebook here can show, each with the reason."""
    return dict(tomllib.loads(TABLE.read_text("utf-8"))["not_seen"])


def _fact(group: Mapping[str, Any], told: Mapping[str, Any]) -> Fact:
    (kind,) = (key for key in told if key in KINDS)
    rest = {key: told[key] for key in told if key not in {kind, "before"}}
    return Fact(
        reader=group["reader"],
        on=tuple(group.get("on", NOTEBOOKS)),
        user=group.get("user", "root"),
        moment=group.get("moment", AT_REST),
        kind=kind,
        path=told[kind],
        wanted=rest,
        before=told.get("before", ""),
    )


def _fits(answer: Mapping[str, Any], key: str, wanted: Any) -> bool:  # noqa: ANN401 - of TOML
    match key:
        case "errno":
            return bool(answer.get("errno") == wanted)
        case "holds":
            names = answer.get("names")
            return names is not None and all(
                any(re.fullmatch(one, name) for name in names) for one in wanted
            )
        case "is":
            return re.fullmatch(wanted, answer.get("target", "")) is not None
        case "text" | "hex":
            told = answer.get(key)
            return told is not None and re.fullmatch(wanted, told, re.DOTALL) is not None
        case _:
            raise ValueError(f"{key}: no such expectation")


def questions(facts: Iterable[Fact], asking: Asking) -> list[tuple[str, str]]:
    """What is put to the guest, each question once."""
    asked = {(fact.kind, fact.path): None for fact in facts if fact.is_for(asking)}
    return list(asked)


def disagreements(facts: Iterable[Fact], told: Told) -> list[str]:
    """Every fact that the answers do not bear out, in a line; a fact without answer is one."""
    lines = []
    for fact in facts:
        if not fact.is_for(told.asking):
            continue
        question = (fact.kind, fact.path)
        answers = [one for one in told.answers if (one["kind"], one["asked"]) == question]
        wrong = [one for one in answers if not fact.fits(one)]
        found: list[object] = [*wrong] if answers else ["no answer"]
        lines += [f"{told.asking}: {question}: {fact.wanted} expected, {one}" for one in found]
    return lines


def unverified(evidence: bytes, told: Iterable[Told]) -> list[str]:
    """Every question of a recording that none of a notebook's answers is about."""
    answers = [one for asked in told for one in asked.answers]
    links = {one["path"]: one["target"].lstrip("/") for one in answers if "target" in one}
    known = {(one["kind"], _without_number(one["path"])) for one in answers}
    lines = gzip.decompress(evidence).decode("utf-8").splitlines()[1:]
    asked = [(kind, line[kind]) for line in map(json.loads, lines) for kind in ASKED & line.keys()]
    return [
        f"{kind} {path}"
        for kind, path in asked
        if (kind, _without_number(_followed(path, links, whole=kind != "target"))) not in known
    ]


def _without_number(path: str) -> str:
    """The path without the numbers that differ from start to start."""
    return COUNTED.sub(r"\1", path)


def _followed(path: str, links: Mapping[str, str], *, whole: bool) -> str:
    """The path with the known links in it followed, that at its end only if `whole`."""
    parts = path.split("/")
    for end in range(1, len(parts) + whole):
        if leads := links.get("/".join(parts[:end])):
            return _followed("/".join([leads, *parts[end:]]), links, whole=whole)
    return path


def load_fixture() -> tuple[Told, ...]:
    """What was answered when it was last recorded."""
    recorded = json.loads(FIXTURE.read_text("utf-8"))
    return tuple(
        Told(
            asking=Asking(notebook=one["notebook"], user=one["user"], moment=one["moment"]),
            answers=tuple(one["answers"]),
        )
        for one in recorded["asked"]
    )


def write_fixture(kernel: str, told: Iterable[Told]) -> None:
    """Records answers, one in a line, so that a difference can be read."""
    parts = []
    for one in told:
        asking = one.asking
        head = {"notebook": asking.notebook, "user": asking.user, "moment": asking.moment}
        lines = ",\n".join(json.dumps(answer, sort_keys=True) for answer in one.answers)
        parts.append(f'{json.dumps(head)[:-1]}, "answers": [\n{lines}\n]}}')
    text = f'{{"kernel": {json.dumps(kernel)}, "asked": [\n' + ",\n".join(parts) + "\n]}\n"
    json.loads(text)
    FIXTURE.write_text(text, "utf-8")
