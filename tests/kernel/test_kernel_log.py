"""The kernel's log read record by record, from a device that is drawn."""

import errno
import os
from collections.abc import Callable, Sequence

import pytest

from closeout.decode.kernel_log import LogCounts, decode_excerpt
from closeout.kernel import kernel_log
from closeout.kernel.failure import ReadError, Reason
from closeout.kernel.folder import FolderTree
from closeout.kernel.kernel_log import MOST_KEPT, collect_records, read_kernel_log
from closeout.kernel.live import LiveTree
from strategies.kernel_log import INTERRUPTED, build_record, line


def device(answers: Sequence[bytes | int]) -> Callable[[], bytes]:
    """Gives one answer for each read, an errno as a failure, and EAGAIN at the end."""
    waiting = list(answers)

    def read() -> bytes:
        answer = waiting.pop(0) if waiting else errno.EAGAIN
        if isinstance(answer, int):
            raise OSError(answer, os.strerror(answer))
        return answer

    return read


def test_warnings_of_the_kernel_are_kept_and_nothing_else() -> None:
    told = [
        line("emergency", sequence=0, level=0),
        line("warning", sequence=1, level=4, device="+pci:0000:00:1f.2"),
        line("notice", sequence=2, level=5),
    ]
    program = build_record(line("a program", sequence=3)).replace(b"4,", b"12,", 1)
    raw = collect_records(device([*map(build_record, told), program]))
    found = decode_excerpt(raw)
    assert found.counts == LogCounts(read=4, lost=0, left_out=0)
    assert found.records == tuple(told[:2])


def test_an_error_of_the_hardware_is_kept_at_any_level() -> None:
    """As Linux 6.12 tells of a corrected machine check."""
    told = line("mce: [Hardware Error]: Machine check events logged", sequence=0, level=6)
    found = decode_excerpt(collect_records(device([build_record(told)])))
    assert found.records == (told,)


def test_the_rest_of_an_interrupted_line_is_no_warning_where_the_line_is_none() -> None:
    found = decode_excerpt(collect_records(device(INTERRUPTED)))
    assert (found.records, found.counts.read) == ((), 3)


def test_the_rest_of_an_interrupted_warning_is_kept_and_put_to_it() -> None:
    """So ACPI writes: the level is on the first piece alone (`acpi_os_vprintf`, acpi/osl.c)."""
    _, program, rest = INTERRUPTED
    head = rest.replace(b"4,9792", b"3,9790").split(b"c;")[0] + b"-;ACPI Error: \n"
    (found,) = decode_excerpt(collect_records(device([head, program, rest]))).records
    assert (found.level, found.text) == (3, "ACPI Error: to colour dummy device 80x25")


def test_a_piece_of_a_line_that_is_not_seen_is_kept_as_what_it_says_it_is() -> None:
    (found,) = decode_excerpt(collect_records(device(INTERRUPTED[2:]))).records
    assert (found.level, found.text) == (4, "to colour dummy device 80x25")


def test_overwritten_records_are_counted_and_reading_goes_on() -> None:
    first, later = line("first", sequence=3), line("later", sequence=10)
    raw = collect_records(device([build_record(first), errno.EPIPE, build_record(later)]))
    found = decode_excerpt(raw)
    assert [record.text for record in found.records] == ["first", "later"]
    assert found.counts == LogCounts(read=2, lost=3 + 6, left_out=0)


def test_what_is_too_much_is_counted() -> None:
    size = MOST_KEPT // 3
    lines = [build_record(line("x" * size, sequence=number)) for number in range(4)]
    found = decode_excerpt(collect_records(device(lines)))
    assert (len(found.records), found.counts.left_out) == (2, 2)


def test_what_is_no_record_is_read_over_and_an_end_is_an_end() -> None:
    found = decode_excerpt(collect_records(device([b"nothing", b""])))
    assert (found.records, found.counts.read) == ((), 1)


def test_a_log_that_never_ends_is_left(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kernel_log, "MOST_READS", 5)
    record = build_record(line("again", sequence=0))
    assert decode_excerpt(collect_records(lambda: record)).counts.read == 5


def test_any_other_failure_is_the_answer() -> None:
    with pytest.raises(OSError, match="error"):
        collect_records(device([errno.EIO]))


def test_the_live_source_says_why_there_is_no_log(tmp_path_factory: pytest.TempPathFactory) -> None:
    root = tmp_path_factory.mktemp("unit")
    with pytest.raises(ReadError) as caught:
        LiveTree(str(root)).ask("kernel log")
    assert (caught.value.code, caught.value.question) == ("ENOENT", "kernel log")


def test_a_file_in_the_place_of_the_device_is_read_to_its_end(
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    root = tmp_path_factory.mktemp("unit")
    (root / "dev").mkdir()
    (root / "dev/kmsg").write_bytes(build_record(line("one", sequence=0)))
    found = decode_excerpt(read_kernel_log(os.fsencode(root)))
    assert [record.text for record in found.records] == ["one"]
    with pytest.raises(ReadError) as caught:
        FolderTree(root).ask("kernel log")
    assert caught.value.reason is Reason.NOT_OFFERED
