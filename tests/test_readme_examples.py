"""The profile and the work order of the README are sound, and judge a unit as it says."""

import re
from pathlib import Path

import pytest

from closeout.expect.load import parse_any
from closeout.expect.mistake import Mistakes
from closeout.expect.profile import Profile
from closeout.expect.work_order import WorkOrder

README = Path(__file__).resolve().parent.parent / "README.md"
EXAMPLES = re.findall(r"```toml\n(.*?)```", README.read_text(encoding="utf-8"), re.DOTALL)


@pytest.mark.parametrize("text", EXAMPLES)
def test_each_example_has_no_mistake(text: str) -> None:
    loaded = parse_any("README.md", text.encode())
    assert not isinstance(loaded, Mistakes), loaded.show()


def test_there_is_one_of_each() -> None:
    kinds = [type(parse_any("README.md", text.encode())) for text in EXAMPLES]
    assert kinds == [Profile, WorkOrder]
