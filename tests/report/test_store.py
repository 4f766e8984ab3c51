"""A report is on disk whole or not at all, in a place that tells nothing, and stays."""

import errno
import os
import re
import stat
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.report.failure import StoreError
from closeout.report.store import (
    attempt_folder,
    attempt_id,
    next_attempt,
    order_folder,
    write_file,
    write_new,
)

FILES = {"report.json": b"{}\n", "report.html": b"<html>"}


def test_files_are_written(tmp_path: Path) -> None:
    folder = attempt_folder(tmp_path / "closeout-reports", "WO-1", 2, "sha256:3FA2C1D9ee")
    paths = write_new(folder, FILES)
    assert folder == tmp_path / "closeout-reports" / "WO-1" / "attempt-0002-3fa2c1d9"
    assert [path.read_bytes() for path in paths] == list(FILES.values())
    assert list(folder.parent.iterdir()) == [folder]


def test_nothing_is_overwritten(tmp_path: Path) -> None:
    folder = tmp_path / "attempt-0001-aa"
    write_new(folder, FILES)
    with pytest.raises(StoreError, match="it is there already, and nothing is overwritten"):
        write_new(folder, {"report.json": b"other"})
    assert (folder / "report.json").read_bytes() == FILES["report.json"]
    assert list(tmp_path.iterdir()) == [folder]


def test_an_empty_folder_is_not_taken_over(tmp_path: Path) -> None:
    (tmp_path / "attempt-0001-aa").mkdir()
    (tmp_path / "attempt-0002-aa").symlink_to("nowhere")
    for name in ("attempt-0001-aa", "attempt-0002-aa"):
        with pytest.raises(StoreError, match="it is there already"):
            write_new(tmp_path / name, FILES)


def test_a_name_taken_meanwhile_is_not_overwritten(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "attempt-0001-aa"
    write_new(folder, FILES)
    monkeypatch.setattr(os.path, "lexists", lambda _: False)
    with pytest.raises(StoreError, match="it is there already"):
        write_new(folder, {"report.json": b"other"})
    assert (folder / "report.json").read_bytes() == FILES["report.json"]


@pytest.mark.parametrize(
    ("number", "message"),
    [
        (errno.ENOSPC, "the disk is full; free some space or choose another folder"),
        (errno.EROFS, "the file system is read-only; choose another folder"),
        (errno.EACCES, "no permission; choose another folder"),
        (errno.EMFILE, os.strerror(errno.EMFILE)),
    ],
)
@pytest.mark.parametrize("step", ["fsync", "mkdir"])
def test_a_failure_is_one_line_and_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str, number: int, message: str
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise OSError(number, os.strerror(number))

    folder = tmp_path / "attempt-0001-aa"
    monkeypatch.setattr(os, step, fail)
    with pytest.raises(StoreError) as failure:
        write_new(folder, FILES)
    assert str(failure.value) == f"cannot write {folder}: {message}"
    assert list(tmp_path.iterdir()) == []


def test_a_file_in_the_way_is_named(tmp_path: Path) -> None:
    (tmp_path / "WO-1").write_bytes(b"")
    with pytest.raises(StoreError):
        write_new(tmp_path / "WO-1" / "attempt-0001-aa", FILES)
    with pytest.raises(StoreError, match="a part of the path is a file"):
        next_attempt(tmp_path, "WO-1")


@pytest.mark.parametrize("name", ["", "../x", ".hidden", "a/b", "a\n", "-x"])
def test_a_file_has_a_plain_name(tmp_path: Path, name: str) -> None:
    with pytest.raises(StoreError, match="is no file name"):
        write_new(tmp_path / "new", {name: b""})


def test_a_folder_that_cannot_be_flushed_is_let_be(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    flush = os.fsync

    def fsync(handle: int) -> None:
        if stat.S_ISDIR(os.fstat(handle).st_mode):
            raise OSError(errno.EINVAL, "no flush of folders")
        flush(handle)

    monkeypatch.setattr(os, "fsync", fsync)
    assert write_new(tmp_path / "new", FILES)[0].exists()


def test_attempts_are_counted(tmp_path: Path) -> None:
    assert next_attempt(tmp_path, "WO-1") == 1
    for name in ("attempt-0001-aa", "attempt-0009", "attempt-x", "notes", ".attempt-0010-a.part"):
        (tmp_path / "WO-1" / name).mkdir(parents=True)
    (tmp_path / "WO-1" / "attempt-0012-a").write_bytes(b"")
    assert next_attempt(tmp_path, "WO-1") == 13
    assert next_attempt(tmp_path, "WO-2") == 1


def test_an_attempt_has_a_short_digest() -> None:
    assert attempt_id(3, "sha256:" + "ab" * 32) == "attempt-0003-abababab"
    assert attempt_id(12345, "CAFE") == "attempt-12345-cafe"
    assert attempt_id(1, "../..") == "attempt-0001-none"


@pytest.mark.parametrize("order", ["WO-20417", "4711", "a.b_c"])
def test_a_plain_order_is_its_own_folder(order: str) -> None:
    assert order_folder(Path("r"), order) == Path("r") / order


def test_without_an_order() -> None:
    assert order_folder(Path("r"), "") == Path("r/no-order")
    assert order_folder(Path("r"), "no-order") != Path("r/no-order")


HOSTILE = ["..", ".", "../../etc", "a/b", "CON", "nul.txt", ".x", "x.", "a" * 400, "\0", "\udcff"]


@pytest.mark.parametrize("order", HOSTILE)
def test_a_hostile_order_stays_in_its_folder(tmp_path: Path, order: str) -> None:
    paths = write_new(attempt_folder(tmp_path, order, 1, "aa"), FILES)
    (folder,) = tmp_path.iterdir()
    assert re.fullmatch(r"order-[A-Za-z0-9._-]*", folder.name)
    assert paths[0].resolve().is_relative_to(tmp_path.resolve())
    assert next_attempt(tmp_path, order) == 2


@given(st.text(), st.text())
def test_two_orders_never_share_a_folder(one: str, other: str) -> None:
    folders = {order_folder(Path("r"), order) for order in (one, other)}
    assert len(folders) == len({one, other})


def test_a_single_file_is_written_and_never_overwritten(tmp_path: Path) -> None:
    file = tmp_path / "evidence.gz"
    write_file(file, b"one")
    with pytest.raises(StoreError, match="it is there already"):
        write_file(file, b"two")
    assert file.read_bytes() == b"one"
    assert list(tmp_path.iterdir()) == [file]


@pytest.mark.parametrize("number", [errno.EPERM, errno.EOPNOTSUPP])
def test_a_stick_without_links_is_written_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int
) -> None:
    def link(*_: object) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(os, "link", link)
    test_a_single_file_is_written_and_never_overwritten(tmp_path)


def test_a_single_file_that_fails_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def link(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "link", link)
    with pytest.raises(StoreError, match="the disk is full"):
        write_file(tmp_path / "evidence.gz", b"one")
    with pytest.raises(StoreError, match=os.strerror(errno.ENOENT)):
        write_file(tmp_path / "nowhere" / "evidence.gz", b"one")
    assert list(tmp_path.iterdir()) == []
