"""`closeout report verify`: who sealed a report, whether it was changed, and what it says now."""

from __future__ import annotations

import argparse
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from closeout.cli.documents import (
    SETS_DOCUMENTS,
    UNRUN_FILE,
    Record,
    add_record_argument,
    load_record,
    open_record,
    require_libraries,
)
from closeout.cli.files import is_file, read_file
from closeout.cli.judged_again import (
    add_profile_argument,
    judge_again,
    refuse_bad_profile,
    say_difference,
)
from closeout.cli.recorded_attempt import EVIDENCE_FILE, LARGEST_REPORT, REPORT_FILE
from closeout.cli.sealing import NEEDED
from closeout.cli.source import load_evidence
from closeout.cli.station_records import load_stations
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import DONE, ExitCode, InputTroubleError
from closeout.cli.words import say_line
from closeout.kernel.evidence_file import digest_evidence
from closeout.kernel.privacy import forbid_core_dumps
from closeout.model.moment import Moment
from closeout.model.report import Report
from closeout.model.station import Standing, Station, standing_on
from closeout.report.embedded import UNRUN_SEAL
from closeout.report.failure import ReportError
from closeout.report.seal import LARGEST_SEAL, SEAL_FILE, Seal, State, check_seal
from closeout.report.story import name_attempt
from closeout.report.unrun_json import load_unrun

STATIONS: Final = "CLOSEOUT_STATIONS"
NOT_SHOWN: Final = (
    "A seal shows that no byte has changed since the station wrote it. It does not show who worked,"
    " that the unit was the one on the order, nor that the station's clock was right."
)
NO_SEAL_FILE: Final = "Not sealed: there is no {file} beside it."
NO_EVIDENCE: Final = (
    f"Evidence missing: {EVIDENCE_FILE} is not beside it, so it cannot be judged again."
)
BY_STATE: Final = {
    State.NO_SEAL: "Not sealed: {file} is no seal.",
    State.UNKNOWN: "Seal of an unknown key: it is that of none of the {count} station records.",
    State.CHANGED: "CHANGED: these are not the bytes that station {code} sealed.",
    State.INTACT: "Intact: not a byte has changed since station {code} sealed it.",
}
BY_STANDING: Final = {
    Standing.VALID: "",
    Standing.TOO_EARLY: (
        "The station's key was not valid yet on {day}: from {first}. The clock that it was written"
        " by may have been wrong: that of a unit without power starts years ago."
    ),
    Standing.TOO_LATE: "The station's key was not valid any more on {day}: until {last}.",
    Standing.REVOKED: "The station's key is revoked since {on}: {reason}.",
    Standing.REVOKED_SINCE: (
        "The station's key is revoked since {on}: {reason}. The report says that it is of {day},"
        " which is before; but whoever has the key can write any day."
    ),
}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds what is verified, and whose seals are known."""
    add_record_argument(parser)
    parser.add_argument(
        "--stations",
        metavar="DIR",
        type=Path,
        help=f"folder of the public records of all stations (else: ${STATIONS})",
    )
    add_profile_argument(parser)


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Says what holds of the report.

    Ends with 0 where a valid station sealed these very bytes, the evidence is the one that they
    name, and a document's pages were found to be those of its report. What is judged otherwise now
    is told, and is no fault of the report.
    """
    forbid_core_dumps()
    refuse_bad_profile(options.profile)
    with open_record(options.report) as record:
        found = _findings(record, options.stations, options.profile)
        told = [(good, record.show(line)) for good, line in found]
    for line in (*(line for _, line in told), NOT_SHOWN):
        say_line(line, surroundings.stdout)
    return DONE if all(is_good for is_good, _ in told) else ExitCode.BAD_INPUT


def _findings(
    record: Record, named: Path | None, profile: str | None
) -> Iterator[tuple[bool, str]]:
    """All that holds of a record, each with whether it is good."""
    if is_file(record.folder / UNRUN_FILE):
        yield from _of_unrun(record, _stations(named))
        return
    file = record.folder / REPORT_FILE
    raw = read_file(file, LARGEST_REPORT)
    stations = _stations(named)
    report = load_record(record.folder, raw)
    yield True, _name(report)
    if newer := record.newer(report):
        yield True, newer
    if record.document:
        yield _of_pages(record)
    seal = file.with_name(SEAL_FILE)
    yield from _of_seal(seal, raw, _day(report.written), stations)
    yield from _of_evidence(file, report, profile)


def _of_unrun(record: Record, stations: tuple[Station, ...]) -> Iterator[tuple[bool, str]]:
    """All that holds of the record of a unit that was not judged: it has no evidence."""
    file = record.folder / UNRUN_FILE
    raw = read_file(file, LARGEST_REPORT)
    try:
        unrun = load_unrun(raw)
    except ReportError as error:
        raise InputTroubleError(f"{file}: no record: {error}") from error
    yield True, f"Record of {unrun.order}: not run, {unrun.why.value}, {unrun.at.text}."
    if record.document:
        yield _of_pages(record)
    yield from _of_seal(file.with_name(UNRUN_SEAL), raw, _day(unrun.at), stations)


def _day(moment: Moment) -> str:
    return moment.text.partition("T")[0]


def _of_pages(record: Record) -> tuple[bool, str]:
    from closeout.cli.document_pages import NOT_COMPARED, judge_pages  # noqa: PLC0415 - only for documents

    try:
        require_libraries(SETS_DOCUMENTS)
    except InputTroubleError as trouble:
        return False, NOT_COMPARED.format(why=trouble)
    return judge_pages(record)


def _name(report: Report) -> str:
    facts = report.circumstances
    return f"Report of {name_attempt(report)}: {report.verdict.value}, {facts.finished.text}."


def _stations(named: Path | None) -> tuple[Station, ...]:
    folder = named or (Path(told) if (told := os.environ.get(STATIONS)) else None)
    if folder is None:
        raise InputTroubleError(f"whose seals are known? give --stations DIR, or set ${STATIONS}")
    return load_stations(folder)


def _of_seal(
    place: Path, raw: bytes, day: str, stations: tuple[Station, ...]
) -> Iterator[tuple[bool, str]]:
    if not place.is_file():
        yield False, NO_SEAL_FILE.format(file=place.name)
        return
    try:
        seal = check_seal(raw, read_file(place, LARGEST_SEAL), stations)
    except ImportError as error:
        raise InputTroubleError(NEEDED) from error
    code = seal.station.code if seal.station else ""
    words = BY_STATE[seal.state].format(file=place, count=len(stations), code=code)
    yield seal.state is State.INTACT, words
    yield from _of_standing(seal, day)


def _of_standing(seal: Seal, day: str) -> Iterator[tuple[bool, str]]:
    station = seal.station
    if station is None:
        return
    standing = standing_on(station, day)
    words = BY_STANDING[standing].format(
        day=day,
        first=station.first_day,
        last=station.last_day,
        on=station.revoked.on if station.revoked else "",
        reason=station.revoked.reason if station.revoked else "",
    )
    if words:
        yield standing is Standing.VALID, words


def _of_evidence(file: Path, report: Report, profile: str | None) -> Iterator[tuple[bool, str]]:
    """Whether the evidence is there, and what it is judged as now."""
    place = file.with_name(EVIDENCE_FILE)
    if report.redacted:
        yield True, "A redacted copy: no evidence belongs beside it."
        return
    if not place.is_file():
        yield (
            False,
            f"Evidence missing: {EVIDENCE_FILE} is not beside it; it cannot be judged again.",
        )
        return
    try:
        digest = digest_evidence(load_evidence(place))
    except InputTroubleError as trouble:
        yield False, f"Evidence unusable: {trouble}."
        return
    if digest != report.circumstances.evidence_digest:
        yield False, "Other evidence: what lies beside it is not the evidence that it names."
        return
    yield True, "Evidence: what lies beside it is what it names."
    try:
        now = judge_again(report, place, profile)
    except InputTroubleError as trouble:
        yield True, f"It cannot be judged again: {'; '.join(trouble.lines)}."
        return
    for line in say_difference(report, now):
        yield True, line
