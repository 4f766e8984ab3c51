"""Each house rule with a source that breaks it and one that does not."""

from pathlib import Path

import pytest

from check_source import Source, check_source, load_sources, run, words_of

TOP = Path("/somewhere/checkout")


def remarks_on(path: str, text: str) -> list[str]:
    """The remarks on one file as they are printed."""
    return [
        remark.as_line() for remark in check_source(Source(path=Path(path), text=text, top=TOP))
    ]


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("read_battery", ("read", "battery")),
        ("DataStore", ("data", "store")),
        ("SMBIOSTable", ("smbios", "table")),
        ("_hidden__name", ("hidden", "name")),
        ("Level2Cache", ("level2", "cache")),
    ],
)
def test_words_of_a_name(name: str, words: tuple[str, ...]) -> None:
    assert words_of(name) == words


@pytest.mark.parametrize(
    ("path", "text", "word"),
    [
        ("agent/closeout/cli/utils.py", "", "utils"),
        ("agent/closeout/misc/__init__.py", "", "misc"),
        ("agent/closeout/one.py", "class ReadingManager: ...\n", "manager"),
        ("agent/closeout/one.py", "def load_data() -> None: ...\n", "data"),
        ("agent/closeout/one.py", "async def do() -> None: ...\n", "do"),
        ("agent/closeout/one.py", "def load(*, extra_info: str) -> None: ...\n", "info"),
        ("agent/closeout/one.py", "def load(*data: str) -> None: ...\n", "data"),
        ("tools/one.py", "fold = lambda base: base\n", "base"),
    ],
)
def test_an_empty_word_in_a_name(path: str, text: str, word: str) -> None:
    remarks = remarks_on(path, text)
    assert len(remarks) == 1
    assert remarks[0].startswith(f"{path}:1: ")
    assert f"empty word {word!r}" in remarks[0]


@pytest.mark.parametrize(
    ("path", "text"),
    [
        ("agent/closeout/database.py", "def load_doing() -> None: ...\n"),
        ("agent/closeout/one.py", "data = b''  # a local name is nobody else's\n"),
        ("tests/test_one.py", "def test_it(test_data): ...\n"),
        ("docs/one.md", "def load_data(): the base of it\n"),
    ],
)
def test_names_that_are_free(path: str, text: str) -> None:
    assert remarks_on(path, text) == []


def test_a_module_that_is_too_long() -> None:
    assert remarks_on("agent/closeout/one.py", "\n" * 400) == []
    assert "401 lines" in remarks_on("agent/closeout/one.py", "\n" * 401)[0]
    assert remarks_on("profiles/long.toml", "\n" * 401) == []


READER = "agent/closeout/readers/lid.py"


def test_a_reader_that_hides_its_kernel_path() -> None:
    text = '"""Lids."""\nFOLDER = "sys/class/lid"\nLID = Reader(kind="lid")\n'
    assert "names its kernel path" in remarks_on(READER, text)[0]


@pytest.mark.parametrize(
    "text",
    [
        '"""Lids (sys/class/lid)."""\nLID = Reader(kind="lid")\n',
        'def find() -> None:\n    """Reads proc/acpi/button."""\nLID = Reader(kind="lid")\n',
        '"""Parses what readers read."""\n',
    ],
)
def test_a_reader_that_names_its_kernel_path(text: str) -> None:
    assert remarks_on(READER, text) == []


def test_an_emulator_in_the_product() -> None:
    text = "# works on QEMU\n"
    assert remarks_on("agent/closeout/one.py", text) == [
        "agent/closeout/one.py:1: names an emulator: QEMU"
    ]
    assert remarks_on("tests/test_one.py", text) == []
    assert remarks_on("agent/closeout/one.py", "# xenon lamps\n") == []


@pytest.mark.parametrize("path", ["README.md", "profiles/a.toml", "docs/a/b.md", "reports/x.json"])
def test_a_real_maker_in_what_is_shown(path: str) -> None:
    assert remarks_on(path, "one\na Dell here\n") == [f"{path}:2: names a real maker: Dell"]


def test_the_list_of_what_is_renamed_names_both() -> None:
    text = 'from = "QEMU"  # a Dell too\n'
    assert remarks_on("profiles/demo/renaming.toml", text) == []
    assert len(remarks_on("profiles/demo/demo.toml", text)) == 2


def test_a_word_that_only_holds_a_maker_is_free() -> None:
    assert remarks_on("README.md", "a model of a citadel, dellish, HPET\n") == []
    assert remarks_on("tests/test_one.py", "Dell\n") == []


@pytest.mark.parametrize(
    "text", [f"see {Path('/', 'home', 'someone')}", f"{TOP}/agent", f"{TOP.parent}/other"]
)
def test_a_path_of_one_machine(text: str) -> None:
    assert "a path of one machine" in remarks_on("docs/a.md", text)[0]


def test_paths_of_every_linux_are_free() -> None:
    assert remarks_on("docs/a.md", "/sys/class, /proc, /usr/share, /rooted/tree\n") == []


@pytest.mark.parametrize("word", ["todo", "fixme", "xxx"])
def test_something_left_undone(word: str) -> None:
    assert remarks_on("tests/test_one.py", f"x = 1  # {word.upper()} later\n") == [
        f"tests/test_one.py:1: left undone: {word.upper()}"
    ]
    assert remarks_on("tests/test_one.py", f"{word} {word.upper()}L\n") == []


def test_sources_are_the_text_files_of_the_project(tmp_path: Path) -> None:
    for name in ("agent/a.py", "agent/__pycache__/b.py", "docs/picture.png", "x/c.py", "Makefile"):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text("\n")
    assert [str(source.path) for source in load_sources(tmp_path)] == ["Makefile", "agent/a.py"]


def test_a_source_that_is_no_text_is_looked_at_all_the_same(tmp_path: Path) -> None:
    (tmp_path / "README.md").write_bytes(b"\xff\n a Dell\n")
    assert run(tmp_path) == 1


def test_run_counts_and_tells_by_its_exit_code(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(tmp_path) == 2
    (tmp_path / "README.md").write_text("fine\n")
    assert run(tmp_path) == 0
    (tmp_path / "README.md").write_text("a Dell\n")
    assert run(tmp_path) == 1
    assert capsys.readouterr().out.splitlines() == [
        "check_source: 0 files, 0 remarks",
        "check_source: 1 files, 0 remarks",
        "README.md:1: names a real maker: Dell",
        "check_source: 1 files, 1 remarks",
    ]
