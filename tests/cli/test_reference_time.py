"""`--reference-time`: what is typed, kept in the evidence, and found again on replay."""

import json
from argparse import Namespace
from pathlib import Path

import pytest

from closeout.cli.reference import read_references
from closeout.cli.trouble import InputTroubleError
from closeout.kernel.evidence_file import decode_evidence
from closeout.model.moment import Moment, ReferenceTime
from strategies.laid_out import healthy
from strategies.surroundings import call_in


def typed(time: str | None, source: str | None = None, **more: object) -> tuple[ReferenceTime, ...]:
    given = {"reference_time": time, "time_source": source, "root": None, **more}
    return read_references(Namespace(**given), lambda: 7_000_000)


def test_a_time_is_taken_at_the_moment_it_is_given() -> None:
    assert typed("2026-11-25T09:00:00Z", "station clock") == (
        ReferenceTime(
            moment=Moment(text="2026-11-25T09:00:00Z", source="station clock"),
            taken_at_microseconds=7_000,
        ),
    )


def test_any_zone_becomes_utc_and_an_unnamed_source_is_typing() -> None:
    (found,) = typed("2026-11-25T11:00:00+02:00")
    assert found.moment == Moment(text="2026-11-25T09:00:00Z", source="typed in")
    assert typed(None) == ()


@pytest.mark.parametrize(
    ("time", "source", "what"),
    [
        ("noon", None, "a time with its zone"),
        ("2026-11-25T09:00:00", None, "a time with its zone"),
        ("2019-12-31T23:59:59Z", None, "years from 2020 to 2099"),
        ("9999-12-31T23:59:59-14:00", None, "years from 2020 to 2099"),
        ("2026-11-25T09:00:00Z", " ", "one line"),
        ("2026-11-25T09:00:00Z", "a\nb", "one line"),
        ("2026-11-25T09:00:00Z", "x" * 101, "one line"),
        (None, "station clock", "names where"),
    ],
)
def test_what_is_no_time_or_source_is_refused(
    time: str | None, source: str | None, what: str
) -> None:
    with pytest.raises(InputTroubleError, match=what):
        typed(time, source)


@pytest.mark.parametrize("where", [{"root": Path("unit")}, {"evidence": Path("unit.gz")}])
def test_a_unit_that_was_read_before_has_no_time_of_now(where: dict[str, object]) -> None:
    with pytest.raises(InputTroubleError, match="was read before"):
        typed("2026-11-25T09:00:00Z", **where)


def test_the_command_refuses_it_with_one_line(tmp_path: Path) -> None:
    unit = healthy(tmp_path / "unit")
    told = call_in(tmp_path, "check", "--root", unit, "--reference-time", "2026-11-25T09:00:00Z")
    assert (told.code, told.out) == (2, "")
    assert "--reference-time" in told.err


def test_evidence_of_a_live_unit_keeps_it_and_replay_finds_the_same(tmp_path: Path) -> None:
    """The drawn live machine is an empty place, which is enough to be recorded."""
    told = call_in(
        tmp_path,
        *("capture", "-o", "unit.gz", "--reference-time", "2026-11-25T09:00:00Z"),
        *("--time-source", "station clock"),
    )
    assert (told.code, told.err) == (0, "")
    evidence = decode_evidence((tmp_path / "unit.gz").read_bytes())
    (found,) = evidence.header.references
    assert found.moment == Moment(text="2026-11-25T09:00:00Z", source="station clock")
    assert found.taken_at_microseconds > 0
    again = call_in(tmp_path, "show", "--json", "--evidence", tmp_path / "unit.gz")
    assert json.loads(again.raw)["inventory"]["clock"]["devices"] == []
