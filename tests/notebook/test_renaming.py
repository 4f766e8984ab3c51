"""Renamed evidence: every kind of answer, ids in halves, fields; and profiles the other way."""

import errno
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.expect.load import parse_any
from closeout.expect.profile import Profile
from closeout.expect.shipped import shipped_folder
from closeout.kernel.evidence import Evidence, Header
from closeout.kernel.evidence_file import decode_evidence, encode_evidence
from closeout.kernel.record import Answer, Failure, Kind, Question, Record
from closeout.model.moment import Moment
from notebook.renaming import RenamingError, rename_back, rename_evidence, rename_text, shipped_list
from notebook.renaming_list import Field, RenamingList, load_list

LIST = r"""
[[substitution]]
from = "Virtual-1"
to = "eDP-1"
reason = "r"
[[substitution]]
from = "a0b0:0010"
to = "fe12:2280"
reason = "r"
[[substitution]]
from = "oldwlan"
to = "newwlan"
reason = "r"
[unit.one]
notebook = "n"
[[unit.one.substitution]]
from = "Emulated Drive"
to = "Peatstone P40 256"
reason = "r"
[[unit.one.field]]
read = "proc/meminfo"
pattern = 'MemTotal: +\d+ kB'
text = "MemTotal:    8000 kB"
reason = "r"
"""
MEMORY = ("read", "proc/meminfo", b"MemTotal:     17 kB\nMemFree:      12 kB\n")
CAPTURED: tuple[tuple[str, str, Answer], ...] = (
    ("ask", "names pci a0b0:0010", b'{"vendor": "V"}'),
    ("names", "sys/class/drm", ("a-last", "card0-Virtual-1", "oldwlan", "version")),
    MEMORY,
    ("read", "sys/class/drm/card0-Virtual-1/edid", bytes.fromhex("00ffffff")),
    ("read", "sys/devices/p/device", b"0x0010\n"),
    ("read", "sys/devices/p/model", b"Emulated Drive".ljust(40) + b"\n"),
    ("read", "sys/devices/p/removable", Failure(number=errno.ENOENT)),
    ("read", "sys/devices/p/vendor", b"0xa0b0\n"),
    ("read", "sys/devices/q/vendor", b"0xa0b0\n"),
    ("target", "sys/class/net/wlan0", "sys/devices/virtual/oldwlan/wlan0"),
)
RENAMED: tuple[tuple[str, str, Answer], ...] = (
    ("ask", "names pci fe12:2280", b'{"vendor": "V"}'),
    ("names", "sys/class/drm", ("a-last", "card0-eDP-1", "newwlan", "version")),
    ("read", "proc/meminfo", b"MemTotal:    8000 kB\nMemFree:      12 kB\n"),
    ("read", "sys/class/drm/card0-eDP-1/edid", bytes.fromhex("00ffffff")),
    ("read", "sys/devices/p/device", b"0x2280\n"),
    ("read", "sys/devices/p/model", b"Peatstone P40 256".ljust(40) + b"\n"),
    ("read", "sys/devices/p/removable", Failure(number=errno.ENOENT)),
    ("read", "sys/devices/p/vendor", b"0xfe12\n"),
    ("read", "sys/devices/q/vendor", b"0xa0b0\n"),
    ("target", "sys/class/net/wlan0", "sys/devices/virtual/newwlan/wlan0"),
)


@pytest.fixture(scope="module")
def listed(tmp_path_factory: pytest.TempPathFactory) -> RenamingList:
    file = tmp_path_factory.mktemp("list") / "renaming.toml"
    file.write_text(LIST, "utf-8")
    return load_list(file)


def evidence_of(*asked: tuple[str, str, Answer], kernel: str = "6.12") -> Evidence:
    moment = Moment(text="2026-11-20T09:00:00Z", source="a test")
    header = Header(agent="a", source="live", kernel=kernel, started=moment, finished=moment)
    records = [
        Record(question=Question(kind=Kind(kind), text=text), answer=answer, microseconds=len(text))
        for kind, text, answer in asked
    ]
    return Evidence(header=header, records=tuple(sorted(records, key=lambda each: each.question)))


def as_told(evidence: Evidence) -> tuple[tuple[str, str, Answer], ...]:
    return tuple((each.question.kind, each.question.text, each.answer) for each in evidence.records)


def test_every_kind_of_answer_is_renamed(listed: RenamingList) -> None:
    assert as_told(rename_evidence(evidence_of(*CAPTURED), "one", listed)) == RENAMED


def test_renamed_evidence_says_so_and_keeps_its_durations(listed: RenamingList) -> None:
    captured = evidence_of(*CAPTURED, kernel="6.12 oldwlan")
    renamed = rename_evidence(captured, "one", listed)
    assert renamed.header.kernel == "6.12 newwlan"
    assert renamed.header.more == {"renamed": "by profiles/demo/renaming.toml"}
    durations = sorted(record.microseconds for record in captured.records)
    assert sorted(record.microseconds for record in renamed.records) == durations


def test_renamed_evidence_is_canonical_and_stays_as_it_is(listed: RenamingList) -> None:
    renamed = rename_evidence(evidence_of(*CAPTURED), "one", listed)
    assert decode_evidence(encode_evidence(renamed)) == renamed
    assert rename_evidence(renamed, "one", listed) == renamed


@given(st.permutations(CAPTURED))
def test_the_order_of_records_is_without_meaning(
    listed: RenamingList, order: list[tuple[str, str, Answer]]
) -> None:
    shuffled = replace(
        evidence_of(),
        records=tuple(
            Record(question=Question(kind=Kind(kind), text=text), answer=answer, microseconds=0)
            for kind, text, answer in order
        ),
    )
    assert as_told(rename_evidence(shuffled, "one", listed)) == RENAMED


def test_a_table_that_holds_a_name_is_an_error(listed: RenamingList) -> None:
    captured = evidence_of(MEMORY, ("read", "sys/table", b"\xff\xfe\x00oldwlan\x00"))
    with pytest.raises(RenamingError, match="sys/table: a table that holds 'oldwlan'"):
        rename_evidence(captured, "one", listed)


@pytest.mark.parametrize(
    ("asked", "line"),
    [
        ([], "proc/meminfo: no such answer"),
        ([("read", "proc/meminfo", Failure(number=errno.EACCES))], "proc/meminfo: no such answer"),
        ([("read", "proc/meminfo", b"nothing\n")], "proc/meminfo: nothing in it matches MemTotal"),
    ],
)
def test_a_field_that_is_not_there_is_an_error(
    listed: RenamingList, asked: list[tuple[str, str, Answer]], line: str
) -> None:
    with pytest.raises(RenamingError, match=line):
        rename_evidence(evidence_of(*asked), "one", listed)


def test_the_shipped_list_renames_the_connector_and_back() -> None:
    assert rename_text("sys/class/drm/card0-Virtual-1") == "sys/class/drm/card0-eDP-1"
    assert rename_back('connector = "eDP-1"') == 'connector = "Virtual-1"'


@pytest.mark.parametrize("unit", [None, *shipped_list().units])
def test_the_shipped_list_works_both_ways(unit: str | None) -> None:
    for each in shipped_list().substitutions_of(unit):
        assert rename_text(each.captured, unit) == each.shipped
        assert rename_back(each.shipped, unit) == each.captured


@pytest.mark.parametrize("id_", ["northlake/fen-14", "tarnfell/skerry-13", "quillmark/osier-15"])
def test_a_shipped_profile_renamed_backwards_is_a_profile(id_: str) -> None:
    text = (shipped_folder("profiles") / f"{id_}.toml").read_text("utf-8")
    back = rename_back(text)
    profile = parse_any("back.toml", back.encode())
    assert isinstance(profile, Profile)
    assert profile.id == id_
    assert "Virtual-1" in back
    assert "eDP-1" not in back
    assert rename_text(back) == text


def test_fields_are_told_of_questions_as_they_ship() -> None:
    for unit, renaming in shipped_list().units.items():
        for field in renaming.fields:
            assert isinstance(field, Field)
            assert rename_text(field.question.text, unit) == field.question.text
