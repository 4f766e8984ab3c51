"""Archives, sticks and odd files: what is taken out of them, and that nothing costs the rest."""

import bz2
import io
import os
import struct
import tarfile
import zipfile
from pathlib import Path

import pytest

from closeout.decode.report_file import make_closing
from closeout.depot import archives, opened
from closeout.depot.bundle import Bundle, Spoiled
from closeout.depot.folders import find_arrivals
from strategies.depot_reports import (
    files_of,
    lay_down,
    lay_many,
    raw_of,
    report_file,
    tree_of,
)
from strategies.pdf_file import Stream, write_pdf

STICK = int(os.environ.get("CLOSEOUT_LEDGER_STICK", "1000"))
"""Files on the largest stick; `make ledger-proof` has ten thousand."""
TAR_MODES = {
    "a.tar": "w",
    "a.tar.gz": "w:gz",
    "a.tgz": "w:gz",
    "a.tar.xz": "w:xz",
    "a.tar.bz2": "w:bz2",
}


def told(*paths: Path) -> list[str]:
    """A line for each arrival: which order, or why not."""
    return [
        f"{one.main} {len(one.files)}" if isinstance(one, Bundle) else one.reason
        for one in find_arrivals(paths)
    ]


def written(path: Path, raw: bytes) -> Path:
    path.write_bytes(raw)
    return path


def zip_of(path: Path, members: dict[str, bytes]) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, raw in members.items():
            archive.writestr(name, raw)
    return path


def tar_of(path: Path, members: dict[str, bytes], mode: str = "w") -> Path:
    with tarfile.open(path, mode) as archive:  # type: ignore[call-overload]
        for name, raw in members.items():
            entry = tarfile.TarInfo(name)
            entry.size = len(raw)
            archive.addfile(entry, io.BytesIO(raw))
    return path


def members(count: int = 2) -> dict[str, bytes]:
    return {
        f"reports/T-{number}/attempt-0001-aa/{name}": raw
        for number in range(1, count + 1)
        for name, raw in files_of(number).items()
    } | {"reports/T-1/attempt-0001-aa/report.html": b"<p>", "readme": b"x"}


@pytest.mark.parametrize("name", TAR_MODES)
def test_a_tar_of_reports(tmp_path: Path, name: str) -> None:
    path = tar_of(tmp_path / name, members(), TAR_MODES[name])
    assert told(path) == ["report.json 2", "report.json 2"]
    assert told(tmp_path) == told(path)


def test_a_zip_of_reports_and_of_report_files(tmp_path: Path) -> None:
    within = members() | {
        "stick/reports/3.zip": report_file(3),
        "stick/reports/4.zip": b"PK\x03\x04",
    }
    path = zip_of(tmp_path / "a.ZIP", within)
    *good, last = told(path)
    assert good == ["report.json 2"] * 3
    assert last.endswith("its end is missing")


def test_report_files_are_known_by_their_end(tmp_path: Path) -> None:
    whole = report_file()
    lines = [told(written(tmp_path / "cut.zip", whole[:-cut])) for cut in range(1, 130)]
    assert all(line.endswith("its end is missing") for (line,) in lines)
    cases = {
        "whole.zip": (whole, "report.json 2"),
        "short.zip": (whole[:-50], "its end is missing"),
        "damaged.zip": (whole[:99] + b"?" + whole[100:], "another digest than its last line says"),
        "noise.zip": (b"noise", "does not begin as a report file does"),
        "empty.zip": (b"", "its end is missing"),
    }
    for name, (raw, _) in cases.items():
        (tmp_path / name).write_bytes(raw)
    for name, (_, wanted) in cases.items():
        (line,) = told(tmp_path / name)
        assert line.endswith(wanted), name
    other = zip_of(tmp_path / "other", {"a/b/c.txt": b"x"}).read_bytes()[:-2]
    body = other + (93).to_bytes(2, "little")
    (tmp_path / "other.zip").write_bytes(body + make_closing(body))
    assert told(tmp_path / "other.zip") == ["no report in it"]


def test_an_archive_in_an_archive_is_left_alone(tmp_path: Path) -> None:
    inner = zip_of(tmp_path / "inner", members()).read_bytes()
    (line,) = told(zip_of(tmp_path / "outer.zip", {"a/inner.zip": inner}))
    assert "no end of a directory" in line or "its end is missing" in line
    assert told(tar_of(tmp_path / "outer.tar", {"a/inner.tar": b"", "b": b""})) == [
        "no report in it"
    ]


@pytest.mark.parametrize(
    "name",
    ["../../evil/report.json", "/etc/report.json", "C:\\report.json", "a/" * 200 + "report.json"],
)
def test_names_in_an_archive_lead_nowhere(tmp_path: Path, name: str) -> None:
    for path in (
        zip_of(tmp_path / "a.zip", {name: b"{"}),
        tar_of(tmp_path / "a.tar", {name: b"{"}),
    ):
        assert told(path) == (["no report in it"] if "\\" in name else ["report.json 1"])
    assert {path.name for path in tmp_path.iterdir()} == {"a.zip", "a.tar"}


def test_a_bomb_is_not_unpacked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(archives, "FREE", 1 << 20)
    big = b"\0" * (8 << 20)
    good = members(2)
    for path in (
        zip_of(tmp_path / "a.zip", good | {"z/report.json": big}),
        tar_of(tmp_path / "a.tar.xz", good | {"z/report.json": big}, "w:xz"),
        tar_of(tmp_path / "b.tar.xz", good | {"z/other": big}, "w:xz"),
    ):
        first, *_, last = told(path)
        assert (first, last) == ("report.json 2", archives.BOMB)


def test_a_member_that_is_too_large_is_told_and_the_others_go_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(archives, "LARGEST", 9000)
    within = {"a/report.json": b"x" * 9001, "b/b.zip": b"x" * 9001} | members(1)
    for path in (zip_of(tmp_path / "a.zip", within), tar_of(tmp_path / "a.tar", within)):
        assert told(path) == [opened.TOO_LARGE] * 2 + ["report.json 2"]


def test_a_header_that_claims_to_be_huge(tmp_path: Path) -> None:
    entry = tarfile.TarInfo("x")
    entry.type, entry.size = tarfile.XHDTYPE, 1 << 40
    (tmp_path / "a.tar").write_bytes(entry.tobuf(tarfile.GNU_FORMAT) + b"\0" * 10240)
    assert told(tmp_path / "a.tar") == [archives.BOMB]


def test_a_zip_whose_directory_is_huge(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = zip_of(tmp_path / "a.zip", members())
    monkeypatch.setattr(archives, "LARGEST_DIRECTORY", 100)
    assert told(path) == [archives.LARGE_DIRECTORY]
    wide = b"PK\x06\x06" + b"\0" * 36 + (1 << 40).to_bytes(8, "little") + b"\0" * 8
    path.write_bytes(path.read_bytes()[:-22] + wide + path.read_bytes()[-22:])
    assert told(path) == [archives.LARGE_DIRECTORY]


def test_damaged_archives_end_with_one_line(tmp_path: Path) -> None:
    whole = tar_of(tmp_path / "a.tar.gz", members(), "w:gz").read_bytes()
    (tmp_path / "a.tar.gz").write_bytes(whole[: len(whole) // 2])
    assert told(tmp_path / "a.tar.gz")[-1].startswith("the archive is damaged, and not read")
    (tmp_path / "b.tar.gz").write_bytes(b"noise")
    assert told(tmp_path / "b.tar.gz")[-1].startswith("the archive is damaged")
    (tmp_path / "c.tar").write_bytes(b"noise")
    assert told(tmp_path / "c.tar")[-1].startswith("the archive is damaged")
    zipped = bytearray(zip_of(tmp_path / "d.zip", members()).read_bytes())
    zipped[90:120] = bytes(30)
    (tmp_path / "d.zip").write_bytes(zipped)
    assert told(tmp_path / "d.zip")[-1] == "report.json 2"  # of the folder that is whole


def test_one_damaged_file_in_a_zip_costs_its_folder_alone(tmp_path: Path) -> None:
    path = zip_of(tmp_path / "a.zip", members(3))
    with zipfile.ZipFile(path) as archive:
        entry = archive.getinfo("reports/T-2/attempt-0001-aa/evidence.jsonl.gz")
    raw = bytearray(path.read_bytes())
    raw[entry.header_offset + 30 + len(entry.filename) + 3] ^= 1
    path.write_bytes(raw)
    first, second, third = told(path)
    assert (first, third) == ("report.json 2", "report.json 2")
    assert second.startswith("damaged in the archive (")
    raw[entry.header_offset + 6] |= 1
    at = raw.index(entry.filename.encode(), raw.index(b"PK\x01\x02"))
    raw[at - 46 + 8] |= 1
    path.write_bytes(raw)
    assert told(path) == ["report.json 2", archives.ENCRYPTED, "report.json 2"]


def test_a_damaged_report_file_in_a_zip_is_told(tmp_path: Path) -> None:
    within = {"a/1.zip": report_file(1), "a/2.zip": report_file(2)}
    path = zip_of(tmp_path / "a.zip", within)
    with zipfile.ZipFile(path) as archive:
        entry = archive.getinfo("a/1.zip")
    raw = bytearray(path.read_bytes())
    raw[entry.header_offset + 60] ^= 1
    path.write_bytes(raw)
    first, second = told(path)
    assert first.startswith("damaged in the archive (")
    assert second == "report.json 2"


@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_two_files_of_one_name_are_not_chosen_from(tmp_path: Path) -> None:
    for name, opened_as in (("a.zip", zipfile.ZipFile), ("a.tar", tarfile.TarFile)):
        for second, wanted in ((1, ["report.json 1"]), (2, [archives.TWICE])):
            with opened_as(tmp_path / name, "w") as archive:
                for number in (1, second):
                    put(archive, "a/report.json", raw_of(tree_of(number)))
            assert told(tmp_path / name) == wanted


def put(archive: zipfile.ZipFile | tarfile.TarFile, name: str, raw: bytes) -> None:
    """One more file at the end of the archive."""
    if isinstance(archive, zipfile.ZipFile):
        archive.writestr(name, raw)
    else:
        entry = tarfile.TarInfo(name)
        entry.size = len(raw)
        archive.addfile(entry, io.BytesIO(raw))


def test_a_file_that_unpacks_beyond_what_it_says_is_not_unpacked(tmp_path: Path) -> None:
    name, packed = b"a/report.json", bz2.compress(bytes(1 << 20))
    sizes = (0, len(packed), 100, len(name), 0)
    local = struct.pack("<IHHHHH3I2H", 0x04034B50, 46, 0, 12, 0, 0, *sizes) + name
    listed = struct.pack("<I6H3I5H2I", 0x02014B50, 46, 46, 0, 12, 0, 0, *sizes, *[0] * 5) + name
    begin = len(local + packed)
    end = struct.pack("<I4H2IH", 0x06054B50, 0, 0, 1, 1, len(listed), begin, 0)
    path = written(tmp_path / "a.zip", local + packed + listed + end)
    assert told(path) == [archives.OTHER_WAY]


@pytest.mark.parametrize("body", [b"1" * 8000, b"4 b\n" * 3000 + b"="])
def test_a_header_that_takes_the_library_for_ever(tmp_path: Path, body: bytes) -> None:
    entry = tarfile.TarInfo("x")
    entry.type, entry.size = tarfile.XHDTYPE, len(body)
    filled = body + bytes(-len(body) % 512)
    (tmp_path / "a.tar").write_bytes(entry.tobuf(tarfile.GNU_FORMAT) + filled + bytes(1024))
    assert told(tmp_path / "a.tar") == [archives.BOMB]


def test_long_names_in_a_tar_are_no_bomb(tmp_path: Path) -> None:
    deep = {f"{'d' * 60}/" * 60 + name: raw for name, raw in files_of().items()}
    for form in (tarfile.PAX_FORMAT, tarfile.GNU_FORMAT):
        with tarfile.open(tmp_path / "a.tar", "w", format=form) as archive:
            for name, raw in deep.items():
                put(archive, name, raw)
        assert told(tmp_path / "a.tar") == ["report.json 2"]


def test_an_archive_that_asks_for_more_memory_than_there_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(_: object) -> object:
        raise MemoryError

    path = tar_of(tmp_path / "a.tar.xz", members(), "w:xz")
    monkeypatch.setattr("lzma.LZMAFile", refused)
    assert told(path) == [f"{archives.DAMAGED} ({archives.NO_MEMORY})"]


def test_documents_in_an_archive_are_opened(tmp_path: Path) -> None:
    streams = [Stream(raw) for raw in files_of(7).values()]
    names = "".join(
        f"({name})<</EF<</F {number} 0 R>>>>" for number, name in enumerate(files_of(7), start=2)
    )
    tree = f"<</EmbeddedFiles<</Names[{names}]>>>>"
    document = write_pdf(f"<</Type/Catalog/Names{tree}>>", *streams)
    within = {"mail/a.pdf": document, "mail/b.pdf": b"%PDF-1.7", "mail/._a.pdf": b"x"}
    for path in (zip_of(tmp_path / "a.zip", within), tar_of(tmp_path / "a.tar", within)):
        first, second = told(path)
        assert first == "report.json 2"
        assert second.startswith("is no PDF")
    beside = {f"a/{name}": raw for name, raw in files_of().items()} | {"a/report.pdf": b"x"}
    assert told(tar_of(tmp_path / "a.tar", beside)) == ["report.json 2"]


def test_what_this_python_cannot_unpack_is_said(tmp_path: Path) -> None:
    (tmp_path / "a.tar.zst").write_bytes(b"")
    assert told(tmp_path) == [archives.ZST]


def test_links_in_a_tar_are_no_files(tmp_path: Path) -> None:
    with tarfile.open(tmp_path / "a.tar", "w") as archive:
        entry = tarfile.TarInfo("a/report.json")
        entry.type, entry.linkname = tarfile.SYMTYPE, "/etc/hostname"
        archive.addfile(entry)
    assert told(tmp_path / "a.tar") == ["no report in it"]


def test_odd_things_in_a_folder_cost_nothing(tmp_path: Path) -> None:
    good = lay_many(tmp_path / "good", 2)
    odd = tmp_path / "good" / "odd"
    odd.mkdir()
    (odd / "loop").symlink_to(odd)
    os.mkfifo(odd / "report.json")
    (tmp_path / "good" / "link").mkdir()
    (tmp_path / "good" / "link" / "report.json").symlink_to(
        good / "T-1/attempt-0001-aa/report.json"
    )
    (odd / "x.zip").symlink_to(odd / "gone")
    (odd / ".hidden.part").mkdir()
    (odd / ".hidden.part" / "report.json").write_bytes(b"{")
    (odd / ".x.zip").write_bytes(b"{")
    sealed = lay_down(tmp_path / "good" / "piped", {"report.json": raw_of(tree_of(5))})
    os.mkfifo(sealed / "report.jws")
    assert sorted(told(tmp_path)) == sorted(
        [opened.A_LINK, opened.NO_FILE, opened.NO_FILE, "report.json 2", "report.json 2"]
    )


def test_what_is_named_may_be_a_link_and_have_any_name(tmp_path: Path) -> None:
    (tmp_path / "some.json").write_bytes(raw_of(tree_of()))
    (tmp_path / "link").symlink_to("some.json")
    (tmp_path / "unrun").write_bytes(b'{\n "unrun": 1}')
    assert told(tmp_path / "some.json", tmp_path / "link", tmp_path / "unrun") == [
        *("report.json 1", "report.json 1", "unrun.json 1"),
    ]
    folder = lay_down(tmp_path / "a", files_of())
    assert told(folder / "report.json") == ["report.json 2"]


def test_what_cannot_be_read_is_one_line_each(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "loop").symlink_to("loop")
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "empty").mkdir()
    lines = told(tmp_path / "gone", tmp_path / "loop", tmp_path / "pipe", tmp_path / "empty")
    assert lines == [
        "cannot be read: No such file or directory",
        "cannot be read: Too many levels of symbolic links",
        *(opened.NO_FILE, "no report in it"),
    ]
    monkeypatch.setattr(opened, "LARGEST", 3)
    (tmp_path / "large").write_bytes(b"four")
    assert told(tmp_path / "large") == [opened.TOO_LARGE]


def test_a_folder_that_cannot_be_listed_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    lay_many(tmp_path, 1)
    scan = os.scandir

    def refused(path: str) -> object:
        if str(path).endswith("aa"):
            raise PermissionError(13, "Permission denied", path)
        return scan(path)

    monkeypatch.setattr(os, "scandir", refused)
    assert told(tmp_path) == ["cannot be listed: Permission denied"]


def test_a_file_that_vanishes_while_others_are_read(tmp_path: Path) -> None:
    lay_many(tmp_path, 3)
    arrivals = find_arrivals([tmp_path])
    assert isinstance(next(arrivals), Bundle)
    (tmp_path / "T-2/attempt-0001-aa/report.json").unlink()
    kinds = [type(one) for one in arrivals]
    assert kinds in ([Bundle], [Spoiled, Bundle])


def test_a_read_that_fails_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    class Broken(io.BytesIO):
        def read(self, _: int | None = -1) -> bytes:
            raise OSError(5, "Input/output error")

    (tmp_path / "a").write_bytes(b"{}")
    monkeypatch.setattr(os, "fdopen", lambda *_: Broken())
    assert told(tmp_path / "a") == ["cannot be read: Input/output error"]


@pytest.mark.unmeasured
def test_a_stick_with_thousands_of_files(tmp_path: Path) -> None:
    (tmp_path / "reports").mkdir()
    (tmp_path / "one").write_bytes(report_file())
    for number in range(STICK):
        (tmp_path / "reports" / f"{number}.zip").hardlink_to(tmp_path / "one")
    arrivals = find_arrivals([tmp_path / "reports"])
    assert sum(isinstance(one, Bundle) for one in arrivals) == STICK
