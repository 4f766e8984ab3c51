"""Golden texts: what a report looked like when a person last agreed with it."""

import difflib
from collections.abc import Callable
from itertools import islice
from pathlib import Path

import pytest

GOLDEN = Path(__file__).parents[1] / "golden" / "report"


@pytest.fixture
def is_golden(tmp_path: Path) -> Callable[[str, str], None]:
    """Fails when the text is not the one kept under the name, and says how to accept it."""

    def compare(name: str, actual: str) -> None:
        kept = GOLDEN / name
        expected = kept.read_text(encoding="utf-8") if kept.exists() else ""
        if actual == expected:
            return
        saved = tmp_path / name
        saved.write_text(actual, encoding="utf-8")
        changes = difflib.unified_diff(
            expected.splitlines(), actual.splitlines(), "golden", "actual", lineterm="", n=1
        )
        pytest.fail(
            "\n".join(
                [
                    f"{name} is not as it was. Look at it, and if it is right, accept it with",
                    f"    cp {saved} {kept}",
                    *islice(changes, 40),
                ]
            ),
            pytrace=False,
        )

    return compare
