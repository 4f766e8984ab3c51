"""`closeout media`: reports on a stick listed, updates that a unit takes, the card."""

import shutil
import subprocess
import zipfile
from html.parser import HTMLParser
from pathlib import Path

import pytest

import closeout
from closeout.expect.shipped import shipped_folder
from closeout.media.boot_card import SETTINGS, render_boot_card, render_boot_card_text
from closeout.media.report_file import pack_folder
from closeout.media.update import take_update
from strategies.surroundings import call_in
from strategies.written_attempt import write_demo

ORDER = 'work_order = 1\norder = "WO-7"\n'
AGENT = Path(closeout.__file__).parent.parent
"""What holds the agent's package: a checkout's agent/, or where the wheel put it."""


@pytest.fixture
def stick(tmp_path: Path) -> Path:
    """A stick as it is mounted, with one report."""
    for name in ("orders", "profiles", "agent", "reports"):
        (tmp_path / "stick" / name).mkdir(parents=True)
    (tmp_path / "stick" / "README.txt").write_text("closeout\n")
    put_report(tmp_path)
    return tmp_path / "stick"


def put_report(place: Path) -> Path:
    folder = write_demo(place)
    file = place / "stick" / "reports" / f"{folder.parent.name}-{folder.name}.zip"
    file.write_bytes(pack_folder(folder))
    return file


def test_reports_are_listed_with_order_and_verdict(stick: Path) -> None:
    told = call_in(stick.parent, "media", "reports", stick)
    (line, total) = told.out.splitlines()
    assert (told.code, total) == (0, "1 intact, 0 cut short, 0 damaged")
    assert line.startswith("intact     DEMO-")
    assert line.endswith(": hold")


def test_a_report_that_was_cut_short_is_told_and_no_error(stick: Path) -> None:
    whole = put_report(stick.parent)
    whole.write_bytes(whole.read_bytes()[:-7])
    told = call_in(stick.parent, "media", "reports", stick / "reports")
    assert told.code == 0
    assert "cut short  DEMO-" in told.out
    assert told.out.splitlines()[-1] == "1 intact, 1 cut short, 0 damaged"


def test_a_damaged_report_ends_with_2(stick: Path) -> None:
    whole = put_report(stick.parent)
    raw = bytearray(whole.read_bytes())
    raw[100] ^= 1
    whole.write_bytes(raw)
    (stick / "reports" / "holiday.zip").write_bytes(b"no report")
    told = call_in(stick.parent, "media", "reports", stick)
    assert told.code == 2
    assert told.out.splitlines()[-1] == "1 intact, 0 cut short, 2 damaged"


def test_a_file_that_cannot_be_read_is_damaged(stick: Path) -> None:
    (stick / "reports" / "T-1.zip").mkdir()
    told = call_in(stick.parent, "media", "reports", stick)
    assert told.code == 2
    assert "damaged    T-1.zip: cannot be read: Is a directory" in told.out


def test_documents_are_listed_by_their_end(stick: Path) -> None:
    folder = stick / "reports"
    (folder / "T-1.pdf").write_bytes(b"%PDF-1.7\nmuch\n%%EOF\n")
    (folder / "T-2.pdf").write_bytes(b"%PDF-1.7\nmuch")
    (folder / "T-3.pdf").write_bytes(b"")
    (folder / "T-4.pdf").mkdir()
    told = call_in(stick.parent, "media", "reports", stick)
    assert told.code == 0
    assert told.out.splitlines()[1:] == [
        "document   T-1.pdf",
        "cut short  T-2.pdf",
        "cut short  T-3.pdf",
        "cannot be read: Is a directory: T-4.pdf",
        "1 intact, 0 cut short, 0 damaged",
    ]


def update(stick: Path, *arguments: object) -> str:
    told = call_in(stick.parent, "media", "update", stick, *arguments)
    assert told.code == 0, told.err
    return told.out


def test_an_update_is_taken_by_its_list(stick: Path) -> None:
    profiles = shipped_folder("profiles")
    update(stick, "--profiles", profiles)
    taken = take_update(stick, "profiles")
    assert isinstance(taken, dict)
    assert taken["set.toml"] == (profiles / "set.toml").read_bytes()
    update(stick, "--agent", AGENT)
    agent = take_update(stick, "agent")
    assert isinstance(agent, dict)
    assert "closeout/media/stick/find.py" in agent
    assert {name.split("/")[0] for name in agent} == {"closeout"}


def test_an_agent_is_found_in_a_checkout(stick: Path) -> None:
    (stick.parent / "checkout" / "agent" / "closeout").mkdir(parents=True)
    (stick.parent / "checkout" / "agent" / "closeout" / "__init__.py").write_text('"""One."""\n')
    update(stick, "--agent", stick.parent / "checkout")
    assert take_update(stick, "agent") == {"closeout/__init__.py": b'"""One."""\n'}


@pytest.mark.oracle
def test_sha256sum_reads_the_list(stick: Path) -> None:
    update(stick, "--profiles", shipped_folder("profiles") / "repairs")
    command = ("sha256sum", "--check", "--quiet", "--strict", "SHA256SUMS")
    subprocess.run(command, cwd=stick / "profiles", check=True)


def test_an_update_out_of_a_wheel_is_the_package_alone(stick: Path) -> None:
    wheel = stick.parent / "closeout.whl"
    with zipfile.ZipFile(wheel, "w") as archive:
        for name in ("closeout/__init__.py", "closeout/cli/__init__.py", "closeout-0.dist/RECORD"):
            archive.writestr(name, name)
        archive.writestr("closeout/empty/", "")
    update(stick, "--agent", wheel)
    taken = take_update(stick, "agent")
    assert taken == {name: name.encode() for name in archive.namelist()[:2]}
    with zipfile.ZipFile(wheel, "w") as archive:
        archive.writestr("another/__init__.py", "")
    told = call_in(stick.parent, "media", "update", stick, "--agent", wheel)
    assert (told.code, "a wheel of something else" in told.err) == (2, True)


def test_a_name_that_no_stick_can_hold_is_said(stick: Path) -> None:
    (stick.parent / "own").mkdir()
    (stick.parent / "own" / "my profile.toml").write_text("profile = 1\n")
    told = call_in(stick.parent, "media", "update", stick, "--profiles", stick.parent / "own")
    assert (told.code, "call it something plainer" in told.err) == (2, True)


def test_what_is_too_much_for_a_stick_is_said(stick: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("closeout.cli.stick_update.LARGEST", 10)
    told = call_in(stick.parent, "media", "update", stick, "--agent", AGENT)
    assert (told.code, "is it the folder?" in told.err) == (2, True)


def test_a_stick_that_takes_no_writing_is_said(
    stick: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def failing(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", failing)
    told = call_in(stick.parent, "media", "update", stick, "--agent", AGENT)
    assert (told.code, "the stick is not up to date" in told.err) == (2, True)


def test_reports_that_are_too_large_are_damaged(
    stick: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("closeout.cli.stick_reports.LARGEST_FILE", 100)
    told = call_in(stick.parent, "media", "reports", stick)
    assert (told.code, "larger than 100 bytes" in told.out) == (2, True)


def test_the_next_update_takes_the_place_of_the_one_before(stick: Path) -> None:
    own = stick.parent / "own"
    own.mkdir()
    for name in ("a.toml", "b.toml"):
        (own / name).write_text("profile = 1\n")
    update(stick, "--profiles", own)
    (own / "b.toml").unlink()
    update(stick, "--profiles", own)
    assert sorted(file.name for file in (stick / "profiles").iterdir()) == ["SHA256SUMS", "a.toml"]


def test_an_update_that_was_broken_off_is_not_taken_and_can_be_written_again(stick: Path) -> None:
    own = stick.parent / "own"
    own.mkdir()
    (own / "a.toml").write_text("profile = 1\n")
    update(stick, "--profiles", own)
    whole = (stick / "profiles" / "SHA256SUMS").read_bytes()
    for cut in range(len(whole)):
        (stick / "profiles" / "SHA256SUMS").write_bytes(whole[:cut])
        assert not isinstance(take_update(stick, "profiles"), dict)
    update(stick, "--profiles", own)
    assert isinstance(take_update(stick, "profiles"), dict)


def test_a_checkout_is_not_taken_for_a_stick(stick: Path) -> None:
    """It has folders of the same names, and they are not to be written over."""
    shutil.copytree(AGENT / "closeout" / "media", stick / "agent" / "closeout")
    told = call_in(stick.parent, "media", "update", stick, "--agent", AGENT)
    assert told.code == 2
    assert "is it the stick?" in told.err


def test_orders_are_plain_files_and_read_before_they_go(stick: Path) -> None:
    orders = stick.parent / "day"
    orders.mkdir()
    (orders / "WO-7.toml").write_text(ORDER)
    (orders / "notes.txt").write_text("not an order\n")
    update(stick, "--orders", orders)
    assert [file.name for file in (stick / "orders").iterdir()] == ["WO-7.toml"]
    (orders / "WO-8.toml").write_text("work_order = 1\nordr = 2\n")
    told = call_in(stick.parent, "media", "update", stick, "--orders", orders)
    assert told.code == 2
    assert "WO-8.toml:2: ordr: no such key" in told.err
    assert not (stick / "orders" / "WO-8.toml").exists()


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        ((), "give --orders, --profiles or --agent"),
        (("--orders", "missing"), "missing: no such folder"),
        (("--orders", "stick/agent"), "--orders: no file in it"),
        (("--agent", "stick"), "no agent in it"),
        (("--agent", "stick/README.txt"), "no wheel"),
    ],
)
def test_what_cannot_be_put_there(
    stick: Path, arguments: tuple[str, ...], told: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(stick.parent)
    ended = call_in(stick.parent, "media", "update", stick, *arguments)
    assert ended.code == 2
    assert told in ended.err
    assert len(ended.err.splitlines()) == 1


class _Boxes(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.boxes: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        named = dict(attrs)
        if tag == "td" and named.get("class") == "box":
            self.boxes.append(named["aria-label"] or "")


def test_every_setting_of_the_card_has_both_boxes() -> None:
    page = _Boxes()
    page.feed(render_boot_card())
    assert page.boxes == ["changed", "put back"] * len(SETTINGS)
    text = render_boot_card_text()
    assert text.count("[ ] changed   [ ] put back") == len(SETTINGS)
    assert max(map(len, text.splitlines())) <= 80


def test_the_caution_comes_before_the_first_setting() -> None:
    for card in (render_boot_card(), render_boot_card_text()):
        words = " ".join(card.split())
        assert words.index("recovery key") < words.index(SETTINGS[0].name)


def test_the_card_is_a_new_file(tmp_path: Path) -> None:
    assert call_in(tmp_path, "media", "card").code == 0
    assert (tmp_path / "boot-card.html").read_text("utf-8") == render_boot_card()
    again = call_in(tmp_path, "media", "card")
    assert (again.code, "it is there already" in again.err) == (2, True)
    assert call_in(tmp_path, "media", "card", "--text").out == render_boot_card_text()
