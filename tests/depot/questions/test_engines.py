"""The same expressions over Parquet, SQLite, PostgreSQL and Spark: the same rows."""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from closeout.depot.questions.opening import open_index
from depot.questions.every_question import every_answer

TESTS = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def answers(planted_export: Path) -> dict[str, list[str]]:
    found = every_answer(open_index(str(planted_export)))
    assert [name for name, rows in found.items() if not rows] == []
    return found


def test_sqlite_answers_as_duckdb_does(answers: dict[str, list[str]], planted_file: Path) -> None:
    assert every_answer(open_index(str(planted_file))) == answers


def test_postgresql_answers_as_duckdb_does(
    answers: dict[str, list[str]], planted_server: str
) -> None:
    assert every_answer(open_index(planted_server)) == answers


@pytest.mark.spark
@pytest.mark.slow
def test_spark_answers_as_duckdb_does(
    answers: dict[str, list[str]], planted_export: Path, tmp_path: Path
) -> None:
    if not shutil.which("java"):
        pytest.skip("not installed: java")
    out = tmp_path / "answers.json"
    script = TESTS / "depot" / "questions" / "every_question.py"
    subprocess.run(
        [sys.executable, "-W", "ignore", str(script), str(planted_export), "local[2]", str(out)],
        check=True,
        capture_output=True,
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": f"{TESTS}:{TESTS.parent / 'agent'}"},
    )
    assert json.loads(out.read_text("utf-8")) == answers
