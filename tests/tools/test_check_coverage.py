"""The thresholds: whole for what must be proven, nearly whole for the rest."""

import json
from pathlib import Path
from typing import Any

import pytest

from check_coverage import package_of, run


def measured(lines: int, missing: int, branches: int = 0) -> dict[str, Any]:
    """One file of a coverage report, its first lines missing."""
    return {
        "summary": {
            "num_statements": lines,
            "covered_lines": lines - missing,
            "num_branches": branches,
            "covered_branches": branches,
        },
        "missing_lines": list(range(1, missing + 1)),
        "missing_branches": [],
    }


WHOLE = {f"agent/closeout/{name}/a.py": measured(10, 0) for name in ("model", "judge", "expect")}


def run_on(folder: Path, **files: dict[str, Any]) -> int:
    """The exit code for files named by `package__module`."""
    named = {f"agent/closeout/{name.replace('__', '/')}.py": file for name, file in files.items()}
    report = folder / "coverage.json"
    report.write_text(json.dumps({"files": WHOLE | named}))
    return run(report)


@pytest.mark.parametrize(
    ("path", "package"),
    [
        ("agent/closeout/decode/edid.py", "decode"),
        ("agent/closeout/check.py", "check"),
        ("lib/site-packages/closeout/report/html/page.py", "report"),
    ],
)
def test_package_of_a_file(path: str, package: str) -> None:
    assert package_of(path) == package


def test_all_is_covered(tmp_path: Path) -> None:
    assert run_on(tmp_path, decode__edid=measured(10, 0, 4), cli__main=measured(100, 5)) == 0


def test_a_decoder_is_covered_whole(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run_on(tmp_path, decode__edid=measured(1000, 1), cli__main=measured(100, 1)) == 1
    shown = capsys.readouterr().out.splitlines()
    assert shown[1].split() == ["decode", "999/1000", "at", "least", "100", "%", "too", "little"]
    assert shown[-1] == "agent/closeout/decode/edid.py: lines [1], branches []"


def test_the_rest_is_covered_nearly_whole(tmp_path: Path) -> None:
    assert run_on(tmp_path, decode__edid=measured(10, 0), cli__main=measured(100, 6)) == 1


def test_a_package_without_files_is_not_covered(tmp_path: Path) -> None:
    assert run_on(tmp_path, cli__main=measured(100, 0)) == 1
