"""Report files: what is packed comes back, and everything that happens to the bytes is noticed."""

import io
import shutil
import struct
import subprocess
import zipfile
from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from closeout.decode.failure import DecodeError
from closeout.decode.report_file import (
    CLOSING_LENGTH,
    CutShortError,
    decode_report_file,
    make_closing,
)
from closeout.media.report_file import Kept, Spoiled, pack_folder, pack_report, read_report_file
from strategies.written_attempt import write_demo

NAMES = st.from_regex(r"[A-Z][A-Z0-9-]{0,6}/attempt-000[1-9]/[a-z]{1,8}\.json", fullmatch=True)
FILES = st.dictionaries(NAMES, st.binary(max_size=300), min_size=1, max_size=5).filter(
    lambda files: len({name.casefold() for name in files}) == len(files)
)


@given(FILES)
def test_what_is_packed_comes_back(files: dict[str, bytes]) -> None:
    found = decode_report_file(pack_report(files))
    assert {member.name: member.content for member in found.members} == files


@given(FILES)
def test_the_same_files_give_the_same_bytes(files: dict[str, bytes]) -> None:
    turned = dict(sorted(files.items(), reverse=True))
    assert pack_report(turned) == pack_report(files)


@given(FILES)
def test_the_standard_library_reads_it(files: dict[str, bytes]) -> None:
    """An independent reader of the same format."""
    with zipfile.ZipFile(io.BytesIO(pack_report(files))) as archive:
        assert archive.testzip() is None
        assert {name: archive.read(name) for name in archive.namelist()} == files


@pytest.mark.oracle
def test_a_tool_of_the_system_reads_it(tmp_path: Path) -> None:
    """As on any desktop without our program: unzip, or busybox's."""
    tools = [name for name in ("unzip", "busybox") if shutil.which(name)]
    if not tools:
        pytest.skip("neither unzip nor busybox is installed")
    command = ["unzip"] if tools[0] == "unzip" else ["busybox", "unzip"]
    (tmp_path / "report.zip").write_bytes(pack_report({"T-1/attempt-0001/report.json": b"{}"}))
    subprocess.run([*command, "-q", "report.zip"], cwd=tmp_path, check=True)
    assert (tmp_path / "T-1/attempt-0001/report.json").read_bytes() == b"{}"


@given(FILES, st.data())
def test_every_cut_is_known_as_a_cut(files: dict[str, bytes], data: st.DataObject) -> None:
    raw = pack_report(files)
    length = data.draw(st.integers(0, len(raw) - 1))
    with pytest.raises(CutShortError):
        decode_report_file(raw[:length])


@given(FILES, st.data())
def test_every_changed_byte_is_noticed(files: dict[str, bytes], data: st.DataObject) -> None:
    raw = bytearray(pack_report(files))
    place = data.draw(st.integers(0, len(raw) - 1))
    raw[place] ^= data.draw(st.integers(1, 255))
    with pytest.raises(DecodeError):
        decode_report_file(bytes(raw))


@given(FILES, st.binary(min_size=1, max_size=40))
def test_bytes_behind_the_end_are_noticed(files: dict[str, bytes], more: bytes) -> None:
    with pytest.raises(DecodeError):
        decode_report_file(pack_report(files) + more)


@given(FILES, st.integers(1, 200))
def test_a_tail_of_zeros_is_a_cut(files: dict[str, bytes], zeros: int) -> None:
    """Clusters that belong to the file and were never written, on a stick that was empty."""
    raw = pack_report(files)
    with pytest.raises(CutShortError):
        decode_report_file(raw[: -min(zeros, len(raw) - 4)] + bytes(min(zeros, len(raw) - 4)))


@given(st.binary(max_size=400))
@example(b"")
def test_any_bytes_give_an_object_or_one_error(raw: bytes) -> None:
    for tried in (raw, raw + make_closing(raw)):
        try:
            decode_report_file(tried)
        except DecodeError:
            continue


@given(FILES, st.data())
def test_a_directory_that_lies_is_refused(files: dict[str, bytes], data: st.DataObject) -> None:
    """Sealed anew by a stranger: whatever it gives are its files, or the one error."""
    body = bytearray(pack_report(files)[:-CLOSING_LENGTH])
    for _ in range(data.draw(st.integers(1, 4))):
        body[data.draw(st.integers(0, len(body) - 1))] = data.draw(st.integers(0, 255))
    try:
        found = decode_report_file(bytes(body) + make_closing(bytes(body)))
    except DecodeError:
        return
    assert all(member.name.count("/") == 2 for member in found.members)


@pytest.mark.parametrize(
    ("plant", "told"),
    [
        (lambda body: body[:-22] + b"PK\x05\x07" + body[-18:], "no end of a directory"),
        (lambda body: body[:-6] + bytes(4) + body[-2:], "the directory is not where"),
        (lambda _: b"", "shorter than the end"),
    ],
)
def test_what_is_wrong_is_said(plant: object, told: str) -> None:
    body = pack_report({"T-1/attempt-0001/a.json": b"x"})[:-CLOSING_LENGTH]
    assert callable(plant)
    changed = plant(body)
    with pytest.raises(DecodeError, match=told):
        decode_report_file(changed + make_closing(changed))


def patched(body: bytes, *changes: tuple[int, bytes]) -> bytes:
    """The body with bytes changed at places in its directory's only entry."""
    entry = body.index(b"PK\x01\x02")
    changed = bytearray(body)
    for place, content in changes:
        changed[entry + place : entry + place + len(content)] = content
    return bytes(changed)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ((42, b"\xff\xff\0\0"), "begin behind the end"),
        ((42, b"\1\0\0\0"), "no file begins where the directory says"),
        ((20, b"\xff\xff\0\0"), "longer than what is left"),
        ((16, b"\0\0\0\0"), "another checksum"),
        ((24, b"\x05\0\0\0"), "another length"),
        ((10, b"\x0c\0"), "a kind or size"),
        ((8, b"\1\0"), "no entry of a report's file"),
        ((30, b"\1\0"), "more in the directory than it counts"),
        ((46, b"../../"), "no entry of a report's file"),
    ],
)
def test_what_is_wrong_with_an_entry_is_said(change: tuple[int, bytes], told: str) -> None:
    body = pack_report({"T-1/attempt-0001/a.json": b"content"})[:-CLOSING_LENGTH]
    changed = patched(body, change)
    with pytest.raises(DecodeError, match=told):
        decode_report_file(changed + make_closing(changed))


def test_a_member_that_does_not_unpack_is_said() -> None:
    body = pack_report({"T-1/attempt-0001/a.json": b"content" * 9})[:-CLOSING_LENGTH]
    begin = body.index(b"a.json") + 6
    changed = body[:begin] + b"\xff\xff" + body[begin + 2 :]
    with pytest.raises(DecodeError, match="does not unpack"):
        decode_report_file(changed + make_closing(changed))


def test_a_directory_that_ends_within_an_entry_is_said() -> None:
    end = b"PK\x05\x06" + struct.pack("<4H2IH", 0, 0, 1, 1, 0, 0, CLOSING_LENGTH)
    body = b"PK\x03\x04" + bytes(4) + end[:-6] + struct.pack("<IH", 8, CLOSING_LENGTH)
    with pytest.raises(DecodeError, match="ends within an entry"):
        decode_report_file(body + make_closing(body))


def test_a_last_line_of_another_length_is_said() -> None:
    raw = pack_report({"T-1/attempt-0001/a.json": b"x"})
    changed = raw[:-CLOSING_LENGTH] + make_closing(raw[:-CLOSING_LENGTH] + b"x")
    with pytest.raises(DecodeError, match="its last line is of"):
        decode_report_file(changed)


@given(FILES)
def test_members_that_are_stored_are_read_too(files: dict[str, bytes]) -> None:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_STORED) as archive:
        for name, content in files.items():
            archive.writestr(name, content)
        archive.comment = make_closing(b"")
    body = packed.getvalue()[:-CLOSING_LENGTH]
    found = decode_report_file(body + make_closing(body))
    assert {member.name: member.content for member in found.members} == files


def test_members_of_one_name_are_refused() -> None:
    files = {"T-1/attempt-0001/a.json": b"x", "t-1/attempt-0001/a.json": b"y"}
    with pytest.raises(DecodeError, match="two files of one name"):
        decode_report_file(pack_report(files))


def test_a_bomb_is_not_unpacked(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("closeout.decode.report_file.LARGEST_MEMBER", 1000)
    with pytest.raises(DecodeError, match="kind or size"):
        decode_report_file(pack_report({"T-1/attempt-0001/a.json": bytes(2000)}))


def test_files_that_are_too_much_together_are_not_unpacked(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("closeout.decode.report_file.LARGEST_TOTAL", 1000)
    names = ("report.json", "evidence.jsonl.gz", "report.html")
    packed = pack_report({f"T-1/attempt-0001-aa/{name}": b"x" * 400 for name in names})
    with pytest.raises(DecodeError, match="unpacks to more than any report"):
        decode_report_file(packed)


def test_a_report_tells_order_attempt_and_verdict(tmp_path: Path) -> None:
    folder = write_demo(tmp_path)
    stem = f"{folder.parent.name}-{folder.name}"
    for name in (stem, f"{stem}-2"):
        told = read_report_file(pack_folder(folder), name)
        assert isinstance(told, Kept)
        assert (told.attempt, told.order) == (folder.name, folder.parent.name)
        assert told.verdict in {"release", "hold", "undecided"}


def test_under_the_name_of_another_report_it_is_damaged(tmp_path: Path) -> None:
    """Clusters of a file that was deleted may show a whole report, of another attempt."""
    told = read_report_file(pack_folder(write_demo(tmp_path)), "T-9-attempt-0001-0")
    assert isinstance(told, Spoiled)
    assert "another report is in it" in told.why


def test_a_report_of_a_later_version_is_whole() -> None:
    raw = pack_report({"T-1/attempt-0001/report.json": b'{"report": 99}'})
    told = read_report_file(raw, "T-1-attempt-0001")
    assert isinstance(told, Kept)
    assert told.verdict.startswith("not read by this version")


def test_cut_and_damaged_are_told_apart(tmp_path: Path) -> None:
    raw = pack_folder(write_demo(tmp_path))
    states = [read_report_file(one, "x") for one in (raw[:-1], b"", raw[:50] + b"?" + raw[51:])]
    assert [told.state for told in states if isinstance(told, Spoiled)] == [
        "cut short",
        "cut short",
        "damaged",
    ]
