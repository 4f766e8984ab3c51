"""Fixtures: what the tools and the agent said in one session of a notebook, as files.

    fixtures/NOTEBOOK/versions.toml         the tools' versions, the kernel's, the image's packages
    fixtures/NOTEBOOK/USER/TOOL.txt         a tool's words under `$ COMMAND` and `status N`
    fixtures/NOTEBOOK/USER/unit.jsonl.gz    the agent's evidence of the same session

A file that does not hold all of a tool's words says what was left out.
"""

import json
import shutil
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from notebook.opinions import QUESTIONS, ToolOutput

FIXTURES: Final = Path(__file__).parent / "fixtures"
EVIDENCE: Final = "unit.jsonl.gz"
LEFT_OUT: Final = "left out: "


@dataclass(frozen=True, slots=True, kw_only=True)
class Answers:
    """What one user was told: by every tool, and by the agent."""

    outputs: Mapping[str, ToolOutput]
    evidence: bytes


def write_answers(folder: Path, answers: Answers) -> None:
    """Writes the files of one user; what was there before goes."""
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    (folder / EVIDENCE).write_bytes(answers.evidence)
    for name, output in answers.outputs.items():
        (folder / f"{name}.txt").write_text(_as_text(name, output), "utf-8")


def read_answers(folder: Path) -> Answers:
    """The answers in the files of one user."""
    return Answers(
        outputs={file.stem: _as_output(file) for file in sorted(folder.glob("*.txt"))},
        evidence=(folder / EVIDENCE).read_bytes(),
    )


def write_versions(file: Path, tools: Mapping[str, str], packages: Mapping[str, str]) -> None:
    """Writes the two tables."""
    tables = {"tools": tools, "packages": packages}
    text = "\n".join(
        f"[{title}]\n"
        + "".join(
            f"{json.dumps(name)} = {json.dumps(told)}\n" for name, told in sorted(table.items())
        )
        for title, table in tables.items()
    )
    file.write_text(text, "utf-8")


def _as_text(name: str, output: ToolOutput) -> str:
    """The command, how it ended, what of its words is not kept, an empty line, the words."""
    head = ["$ " + " ".join(output.command.split()), f"status {output.status}"]
    if left_out := QUESTIONS[name].left_out:
        head.append(f"{LEFT_OUT}{left_out}")
    return "\n".join([*head, "", output.text])


def _as_output(file: Path) -> ToolOutput:
    head, _, text = file.read_text("utf-8").partition("\n\n")
    command, status, *_ = head.split("\n")
    return ToolOutput(
        command=command.removeprefix("$ "), status=int(status.removeprefix("status ")), text=text
    )
