"""The list of renamings: what is in it, and every mistake in one line."""

from pathlib import Path

import pytest

from closeout.kernel.record import Kind, Question
from notebook.renaming_list import RenamingListError, load_list

SUBSTITUTION = '[[substitution]]\nfrom = "{}"\nto = "{}"\nreason = "r"\n'
UNIT = '[unit.a]\nnotebook = "n"\n'
FIELD = '[[unit.a.field]]\nread = "f"\npattern = \'{}\'\ntext = "{}"\nreason = "r"\n'


def written(folder: Path, text: str) -> Path:
    file = folder / "renaming.toml"
    file.write_text(text, "utf-8")
    return file


def test_a_list_is_read(tmp_path: Path) -> None:
    text = SUBSTITUTION.format("old", "new") + '[[exempt]]\nname = "hub"\nreason = "r"\n' + UNIT
    text += "[[unit.a.substitution]]\nfrom = 'x'\nto = 'y'\nreason = 'r'\n"
    text += FIELD.format("^[0-9]+$", "7")
    listed = load_list(written(tmp_path, text))
    assert [exempt.name for exempt in listed.exempt] == ["hub"]
    assert listed.units["a"].notebook == "n"
    (field,) = listed.units["a"].fields
    assert field.question == Question(kind=Kind.READ, text="f")
    assert listed.forwards(None).replaced("old x") == "new x"
    assert listed.forwards("a").replaced("old x") == "new y"
    assert listed.backwards("a").replaced("new y") == "old x"


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("[[", "Invalid"),
        ("other = 1", "the list: there is no 'other'"),
        ("exempt = 1", "exempt: a list of tables is wanted"),
        ("exempt = [1]", "exempt[0]: a table is wanted"),
        ("unit = 1", "unit: a table is wanted"),
        ("[[exempt]]\nname = 'a'", "exempt[0].reason: a text is wanted"),
        ("[[exempt]]\nname = ''\nreason = 'r'", "exempt[0].name: a text is wanted"),
        ("[[substitution]]\nform = 'a'", "substitution[0]: there is no 'form'"),
        ("[unit.a]", "unit.a.notebook: a text is wanted"),
        (UNIT + "[[unit.a.field]]\nnames = 'f'", "unit.a.field[0]: one of 'read' and 'ask'"),
        (UNIT + FIELD.format("(", "7"), "unit.a.field[0].pattern: missing )"),
        (UNIT + FIELD.format("[0-9]", "77"), "the pattern does not match its own text '77'"),
        (SUBSTITUTION.format("a", "b") + SUBSTITUTION.format("a", "c"), "'a' is captured twice"),
        (SUBSTITUTION.format("a", "c") + SUBSTITUTION.format("b", "c"), "'c' is shipped twice"),
        (SUBSTITUTION.format("a", "the a"), "'the a' would be renamed again, for its 'a'"),
        (
            SUBSTITUTION.format("a", "b")
            + UNIT
            + SUBSTITUTION.format("c", "b").replace("[[", "[[unit.a."),
            "unit a: 'b' is shipped twice",
        ),
    ],
)
def test_a_mistake_is_one_line(tmp_path: Path, text: str, line: str) -> None:
    with pytest.raises(RenamingListError) as caught:
        load_list(written(tmp_path, text))
    told = str(caught.value)
    assert told.startswith("renaming.toml: ")
    assert line in told
    assert "\n" not in told


def test_a_file_that_is_not_there_is_one_line(tmp_path: Path) -> None:
    with pytest.raises(RenamingListError, match=r"^gone\.toml: .*No such file"):
        load_list(tmp_path / "gone.toml")
