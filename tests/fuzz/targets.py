"""Everything that turns bytes or text of a stranger into objects, ready to be fuzzed.

Every decoder of one argument is found by its name; what takes more has its line in `BY_HAND`.
"""

import gzip
import importlib
import inspect
import pkgutil
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec
from types import FunctionType
from typing import Final

from closeout import decode
from closeout.check import judge_evidence, read_out
from closeout.cli.demo import demo_units
from closeout.cli.terms import load_demands
from closeout.decode.failure import DecodeError
from closeout.decode.fat_tables import describe_difference
from closeout.decode.filler import classify
from closeout.decode.ids_file import match_ids
from closeout.decode.report_file import decode_report_file, make_closing
from closeout.decode.udev_memory import decode_udev_memory
from closeout.decode.udev_properties import decode_udev_properties
from closeout.decode.version_order import compare_versions
from closeout.depot.facts import parse_report_facts, parse_unrun_facts
from closeout.expect.load import parse_any
from closeout.expect.set_statement import parse_statement
from closeout.expect.station_file import parse_station
from closeout.kernel.evidence import Evidence, EvidenceError
from closeout.kernel.evidence_file import decode_evidence, encode_evidence
from closeout.model.frozen import replace
from closeout.model.station import Station
from closeout.report.as_json import render_json
from closeout.report.colophon import load_colophon
from closeout.report.embedded import parse_document
from closeout.report.failure import DocumentError, ReportError
from closeout.report.from_json import load_report
from closeout.report.page import render_page
from closeout.report.seal import check_seal

STATIONS: Final = (Station(code="S", key=43 * "A", first_day="2026-01-01", last_day="2027-01-01"),)
PREFIXES: Final = ("decode_", "describe_", "parse_", "compare_", "classify", "match_")
REFUSALS: Final = (DecodeError, DocumentError, EvidenceError, ReportError)
"""How bad input is refused; anything else that is raised is a crash."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """`run` takes any bytes, and raises one of `REFUSALS` or nothing."""

    name: str
    run: Callable[[bytes], object]


def text_of(raw: bytes) -> str:
    """Any text out of any bytes, lone surrogates included."""
    return raw.decode("utf-8", "surrogateescape")


def halves(raw: bytes) -> tuple[str, str]:
    """Two texts: what stands before the first NUL, and what behind it."""
    first, _, second = raw.partition(b"\0")
    return text_of(first), text_of(second)


def use_up(outcome: object) -> object:
    """The outcome, whole: a generator does nothing until it is asked."""
    return tuple(outcome) if isinstance(outcome, Iterator) else outcome


def _judge_evidence(raw: bytes) -> None:
    """As `check --evidence` does with a stranger's file, to the page."""
    evidence = decode_evidence(raw, name="stranger.jsonl")
    if decode_evidence(encode_evidence(evidence), name="again") != evidence:
        raise AssertionError("evidence does not come back")
    _judge(evidence)


def _judge(evidence: Evidence) -> None:
    demands = load_demands("any-notebook", None)
    readout = read_out(evidence)
    render_page(judge_evidence(evidence, readout, demands.terms(readout.inventory, 1)))


def _judge_lines(raw: bytes) -> None:
    """The same of what is in the file once it is unpacked."""
    _judge_evidence(gzip.compress(raw, 1))


def _judge_answer(raw: bytes) -> None:
    """A whole unit of which the stranger chose one answer; the first two bytes say which."""
    unit, answered = whole_unit()
    chosen = answered[int.from_bytes(raw[:2], "big") % len(answered)]
    records = list(unit.records)
    records[chosen] = replace(records[chosen], answer=raw[2:])
    _judge(Evidence(header=unit.header, records=tuple(records)))


@cache
def whole_unit() -> tuple[Evidence, tuple[int, ...]]:
    """The first of the demo, and where in it the answers in bytes are."""
    unit = next(demo_units()).evidence()
    places = range(len(unit.records))
    return unit, tuple(at for at in places if isinstance(unit.records[at].answer, bytes))


def _show_report(raw: bytes) -> None:
    """As whoever shows a stranger's report."""
    report = load_report(raw)
    render_page(report)
    if load_report(render_json(report)) != report:
        raise AssertionError("the report does not come back")


BY_HAND: Final[Mapping[str, Callable[[bytes], object]]] = {
    "classify": lambda raw: classify(*halves(raw)),
    "compare_versions": lambda raw: compare_versions(*halves(raw)),
    "match_ids": lambda raw: match_ids(raw, raw[:4].hex()[:4], raw[4:8].hex()[:4]),
    "evidence": _judge_evidence,
    "evidence_lines": _judge_lines,
    "answer": _judge_answer,
    "describe_difference": lambda raw: describe_difference(raw[::2], raw[1::2]),
    "udev_memory": lambda raw: decode_udev_memory(decode_udev_properties(raw)),
    "profile_or_order": lambda raw: parse_any("stranger.toml", raw),
    "colophon": load_colophon,
    **({"document": parse_document} if find_spec("pypdf") else {}),
    "report": _show_report,
    "report_facts": lambda raw: parse_report_facts(raw, "0" * 64),
    "unrun_facts": lambda raw: parse_unrun_facts(raw, "0" * 64),
    "seal": lambda raw: check_seal(raw[:8], raw[8:], STATIONS),
    "set_statement": parse_statement,
    "station": lambda raw: parse_station("stranger.toml", raw),
    "closed_report_file": lambda raw: decode_report_file(raw + make_closing(raw)),
}
"""What takes more than one argument, and the files that strangers hand over."""


REACHED: Final[Mapping[str, str]] = {
    "decode_bios": "describe_smbios",
    "decode_board": "describe_smbios",
    "decode_chassis": "describe_smbios",
    "decode_chassis_type": "describe_smbios",
    "decode_bits": "evidence",
    "decode_chromaticity": "decode_edid",
    "decode_cta": "decode_edid",
    "decode_descriptor": "decode_edid",
    "decode_detailed_timing": "decode_edid",
    "decode_established_timings": "decode_edid",
    "decode_displayid": "decode_edid",
    "decode_hardware_security": "describe_smbios",
    "decode_memory_array": "describe_smbios",
    "decode_memory_device": "describe_smbios",
    "decode_oem_strings": "describe_smbios",
    "decode_pin": "decode_codec",
    "decode_result": "decode_messages",
    "decode_screen": "decode_edid",
    "decode_standard_timings": "decode_edid",
    "decode_structure": "describe_smbios",
    "decode_system": "describe_smbios",
    "decode_udev_memory": "udev_memory",
    "decode_uuid": "describe_smbios",
    "describe_extension": "describe_edid",
    "describe_record": "describe_smbios",
    "parse_hexadecimal": "evidence",
}
"""Decoders of a part of known length or of an object, and the target that comes by them."""


def find_decoders() -> Mapping[str, FunctionType]:
    """Every public decoder by name."""
    return {
        name: function
        for module in pkgutil.iter_modules(decode.__path__)
        for name, function in inspect.getmembers(
            importlib.import_module(f"{decode.__name__}.{module.name}"), inspect.isfunction
        )
        if function.__module__.endswith(f".{module.name}") and name.startswith(PREFIXES)
    }


def wanted_of(function: FunctionType) -> tuple[object, ...]:
    """The types of the arguments that it must be given, as they are written there."""
    return tuple(
        parameter.annotation
        for parameter in inspect.signature(function).parameters.values()
        if parameter.default is parameter.empty
    )


def _target_of(name: str, function: FunctionType) -> Target | None:
    match wanted_of(function):
        case ("bytes",):
            return Target(name=name, run=lambda raw: use_up(function(raw)))
        case ("str",):
            return Target(name=name, run=lambda raw: use_up(function(text_of(raw))))
        case _:
            return None


def targets() -> Mapping[str, Target]:
    """Everything that can be fuzzed, by name."""
    found = {name: _target_of(name, function) for name, function in find_decoders().items()}
    chosen = {
        name: target for name, target in found.items() if target is not None and name not in REACHED
    }
    return {**chosen, **{name: Target(name=name, run=run) for name, run in BY_HAND.items()}}
