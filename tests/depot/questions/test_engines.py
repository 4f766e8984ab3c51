"""The same expressions over Parquet, SQLite, PostgreSQL and Spark: the same rows."""

import json
import os
import shutil
import subprocess
import sys
from contextlib import closing
from importlib.util import find_spec
from pathlib import Path

import pytest

from closeout.depot.questions.opening import open_index
from depot.questions.every_question import every_answer

TESTS = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def answers(planted_export: Path) -> dict[str, list[str]]:
    found = answers_of(planted_export)
    assert [name for name, rows in found.items() if not rows] == []
    return found


def answers_of(place: object, since: str = "") -> dict[str, list[str]]:
    with closing(open_index(str(place))) as index:
        return every_answer(index.since(since) if since else index)


def test_sqlite_answers_as_duckdb_does(answers: dict[str, list[str]], planted_file: Path) -> None:
    assert answers_of(planted_file) == answers


def test_postgresql_answers_as_duckdb_does(
    answers: dict[str, list[str]], planted_server: str
) -> None:
    assert answers_of(planted_server) == answers


@pytest.mark.parametrize("month", ["2025-02", "2099-01"])
def test_from_a_month_on_every_engine_answers_alike(
    month: str, planted_export: Path, planted_file: Path, planted_server: str
) -> None:
    expected = answers_of(planted_export, month)
    assert answers_of(planted_file, month) == expected
    assert answers_of(planted_server, month) == expected
    assert sum(map(len, expected.values())) > 100 or month == "2099-01"


@pytest.mark.spark
@pytest.mark.slow
def test_spark_answers_as_duckdb_does(
    answers: dict[str, list[str]], planted_export: Path, tmp_path: Path
) -> None:
    if not shutil.which("java") or not find_spec("pyspark"):
        pytest.skip("not installed: java, or the extra spark (make spark)")
    out = tmp_path / "answers.json"
    # Of a few rows, what Spark compiles for speed takes minutes and saves nothing.
    settings = ("spark.sql.codegen.wholeStage false", "spark.sql.adaptive.enabled false")
    (tmp_path / "spark-defaults.conf").write_text("\n".join(settings), "utf-8")
    script = TESTS / "depot" / "questions" / "every_question.py"
    subprocess.run(
        [sys.executable, "-W", "ignore", str(script), str(planted_export), "local[2]", str(out)],
        check=True,
        capture_output=True,
        cwd=tmp_path,
        env={
            **os.environ,
            "SPARK_CONF_DIR": str(tmp_path),
            "PYTHONPATH": f"{TESTS}:{TESTS.parent / 'agent'}",
        },
    )
    assert json.loads(out.read_text("utf-8")) == answers
