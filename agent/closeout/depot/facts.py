"""What the ledger indexes of a report: the plain JSON object to rows of its tables.

**What a unit is.** One repaired machine, over orders and parts. It is known by

1. the serial on its label: as it was scanned off the unit itself, else as the work order has it
   (`order.label`, or the serial that the order demands of the firmware). A label stays when every
   part of the unit is replaced, and whoever scans it holds the unit in hand; where label and order
   disagree, the wrong unit is on the bench, and the label says which one;
2. else its system board, by board serial and UUID together;
3. else its order, and a report without even that is a unit of its own.

**What is looked at.** A `Report` record of everything takes ten times as long as reading the JSON,
and proves nothing that the index leans on: bytes of a station are proven by its seal. So what goes
into the index is checked, each field for its type and range, and the rest lies in the kept bytes as
it came; `closeout report verify` looks at all of it. Text comes into the index safe to be shown.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Final, NoReturn, TypeAlias

from closeout.depot.identities import LONGEST, board_of, normalise, read_identities
from closeout.depot.moments import Dated, read_moment
from closeout.model.expectation import Weight
from closeout.model.finding import Outcome, Reply
from closeout.model.frozen import frozen
from closeout.model.label_agreement import LABEL_RULE
from closeout.model.late_pattern import late_pattern
from closeout.model.profile_signature import SignatureState
from closeout.model.unrun import WhyUnrun
from closeout.model.verdict import Verdict
from closeout.report.as_json import FORMAT
from closeout.report.failure import ReportError
from closeout.report.fields import Fields, as_fields
from closeout.report.foreign import make_safe
from closeout.report.json_text import LARGEST
from closeout.report.redact import OPENINGS
from closeout.report.unrun_json import UNRUN_FORMAT

Row: TypeAlias = dict[str, object]

DIGEST: Final = late_pattern("[0-9a-f]{64}")
BOARD_REPAIR: Final = "system-board"
SERIAL_RULE: Final = "system.serial"
FROM_ORDER: Final = "work order "
PASSED: Final = Outcome.PASS.value
UNKNOWN: Final = "unknown"
GREATEST: Final = (1 << 31) - 1
"""What a whole number of the databases holds."""


@frozen
class Facts:
    """The rows of one report, those of its children without its number; `redacted` as it says.

    `written_on` is the day that it was sealed on: of a revision that of what was said last.
    """

    report: Row
    findings: tuple[Row, ...]
    steps: tuple[Row, ...]
    parts: tuple[Row, ...]
    identities: tuple[Row, ...]
    redacted: bool
    written_on: str


def parse_report_facts(raw: bytes, digest: str) -> Facts:
    """The rows of a `report.json`; ReportError, with the place, for anything else."""
    return _facts_of(_load(raw, "report", FORMAT), digest)


def parse_unrun_facts(raw: bytes, digest: str) -> Facts:
    """The row of an `unrun.json`; ReportError, with the place, for anything else."""
    tree = _load(raw, "unrun", UNRUN_FORMAT)
    dated = read_moment(tree.fields("at"))
    order = _short(tree, "order")
    row = _empty_row() | {
        "kind": "unrun",
        "agent": _text(tree, "agent"),
        "unit": _name_unit("", "", order, digest),
        "work_order": order,
        "attempt": _number(tree, "number"),
        "started_at": dated.seconds,
        **_dates(dated),
        "station": _text(tree, "station"),
        "why_unrun": tree.choice("reason", WhyUnrun).value,
    }
    return Facts(
        report=row,
        findings=(),
        steps=(),
        parts=(),
        identities=(),
        redacted=False,
        written_on=dated.day,
    )


def _load(raw: bytes, key: str, known: int) -> Fields:
    """The object in the bytes, of a format that is known. What is deep or long ends by itself."""
    if len(raw) > LARGEST:
        raise ReportError("", f"larger than {LARGEST} bytes")
    try:
        value: object = json.loads(raw.decode("utf-8"), parse_float=_refuse, parse_constant=_refuse)
    except UnicodeDecodeError as failure:
        raise ReportError("", f"not UTF-8 at byte {failure.start}") from None
    except json.JSONDecodeError as failure:
        where = f"line {failure.lineno}, column {failure.colno}"
        raise ReportError("", f"not JSON at {where}: {failure.msg}") from None
    except RecursionError:
        raise ReportError("", "nested too deep") from None
    except ValueError:  # Python's own limit on the digits of a number
        raise ReportError("", "a number has too many digits") from None
    tree = as_fields(value, "")
    if (found := tree.integer(key)) != known:
        raise ReportError(key, f"format {_cut(found)} is not known here; format {known} is")
    return tree


def _cut(number: int) -> str:
    """A number of another format, of any length."""
    return str(number) if abs(number) <= GREATEST else "out of all measure"


def _refuse(text: str) -> NoReturn:
    raise ReportError("", f"{text[:40]} is not a whole number")


def _facts_of(tree: Fields, digest: str) -> Facts:
    facts = tree.fields("circumstances")
    redacted = tree.flag("redacted")
    identities = () if redacted else tuple(read_identities(tree.fields("inventory")))
    findings = tuple(tree.each("findings"))
    label = "" if redacted else _label(facts, findings)
    scanned = "" if redacted else normalise(_handling(facts, "label"))
    order, board = _short(facts, "order"), board_of(identities)
    unit = _name_unit(_safe(scanned) or label, board, order, digest)
    row = _row_of(tree, facts) | {
        "unit": unit,
        "board": board,
        "label_serial": label or _safe(scanned),
        "work_order": order,
    }
    for name in ("unit", "board", "label_serial"):
        _refuse_long(name, str(row[name]))
    return Facts(
        report=row,
        findings=tuple(_findings_of(findings)),
        steps=tuple(_steps_of(tree)),
        parts=tuple(_parts_of(facts, redacted=redacted)),
        identities=tuple(
            {"number": number, "kind": kind, "value": _safe(value), "unit": unit, "board": board}
            for number, (kind, value) in enumerate(identities, start=1)
        ),
        redacted=redacted,
        written_on=_written_on(tree) or str(row["day"]),
    )


def _written_on(tree: Fields) -> str:
    """The day of the last revision; empty where there is none, or it does not tell."""
    for revision in [*tree.each("revisions", [])][-1:]:
        return revision.optional("at", lambda at: read_moment(at).day) or ""
    return ""


def _row_of(tree: Fields, facts: Fields) -> Row:
    """The row of the report but for what tells which unit it is of."""
    started = read_moment(facts.fields("started"))
    finished = read_moment(facts.fields("finished"))
    profile = facts.fields("profile")
    repairs = sorted(facts.texts("repairs"))
    return _empty_row() | {
        "kind": "draft" if facts.flag("is_draft", default=False) else "judged",
        "agent": _text(facts, "agent"),
        "attempt": _number(facts, "attempt"),
        "revision": 1 + sum(1 for _ in tree.each("revisions", [])),
        "started_at": started.seconds,
        **_dates(finished),
        "model": _text(profile, "name"),
        "profile_revision": _text(profile, "revision"),
        "profile_digest": _digest(profile, "digest"),
        "profile_set": facts.optional("profile_set", lambda own: _text(own, "revision")) or "",
        "profile_state": _profile_state(facts),
        "rules": _text(facts.fields("rules"), "revision"),
        "repairs": _safe("+".join(repairs)),
        "replaces_board": BOARD_REPAIR in repairs,
        "station": _safe(_handling(facts, "station")),
        "stick_build": _safe(_handling(facts, "stick_build")),
        "verdict": tree.choice("verdict", Verdict).value,
        "evidence_digest": _digest(facts, "evidence_digest"),
    }


def _empty_row() -> Row:
    """A row of a unit that was not judged; the seal and the station are added by who looks."""
    texts = ("board", "label_serial", "model", "profile_revision", "profile_digest", "profile_set")
    more = ("rules", "repairs", "station", "stick_build", "verdict", "why_unrun")
    return {
        **dict.fromkeys((*texts, *more, "evidence_digest"), ""),
        "profile_state": UNKNOWN,
        "replaces_board": False,
        "revision": 1,
    }


def _dates(dated: Dated) -> Row:
    return {
        "finished_at": dated.seconds,
        "day": dated.day,
        "week": dated.week,
        "month": dated.month,
        "time_source": _safe(dated.source),
    }


def _name_unit(label: str, board: str, order: str, digest: str) -> str:
    """Which unit it is, by the first that is known; `label`, `board` … says by what."""
    named = (("label", label), ("board", board), ("order", order), ("report", digest))
    return next(f"{kind} {value}" for kind, value in named if value)


def _label(facts: Fields, findings: tuple[Fields, ...]) -> str:
    """The serial that the work order says is on the label; empty where it says none."""
    if facts.content.get("work_order") is None:
        return ""
    wanted = {
        each.text("rule"): each.text("expected")
        for each in findings
        if each.content.get("rule") in {LABEL_RULE, SERIAL_RULE}
        and each.text("origin").startswith(FROM_ORDER)
    }
    found = wanted.get(LABEL_RULE) or wanted.get(SERIAL_RULE, "")
    return "" if found.startswith(OPENINGS) else _safe(normalise(found))


def _handling(facts: Fields, name: str) -> str:
    return facts.optional("handling", lambda handling: handling.text(name)) or ""


def _profile_state(facts: Fields) -> str:
    """What the report says of its profile's signature; unknown where it does not say."""
    found = facts.optional("profile_signature", lambda own: own.choice("state", SignatureState))
    return UNKNOWN if found is None or found is SignatureState.NOT_TOLD else str(found.value)


def _findings_of(findings: tuple[Fields, ...]) -> Iterator[Row]:
    """Those that did not pass: what passed is told by the report, and repeats a hundredfold."""
    for number, finding in enumerate(findings, start=1):
        if finding.content.get("outcome") == PASSED:
            continue
        outcome = finding.choice("outcome", Outcome)
        answer = finding.optional("answer", lambda said: said.choice("reply", Reply).value)
        yield {
            "number": number,
            **{name: _text(finding, name) for name in ("rule", "subject", "label")},
            "weight": finding.choice("weight", Weight).value,
            "outcome": outcome.value,
            "expected": _text(finding, "expected"),
            "found": _text(finding, "found"),
            "connection": _safe(finding.text("connection", default="")),
            "answer": answer or "",
            "is_conceded": finding.content.get("concession") is not None,
        }


def _steps_of(tree: Fields) -> Iterator[Row]:
    for number, step in enumerate(tree.each("first_steps"), start=1):
        yield {"number": number, "title": _text(step, "title"), "action": _text(step, "action")}


def _parts_of(facts: Fields, *, redacted: bool) -> Iterator[Row]:
    """What the order fitted or removed; a redacted copy tells no serial."""
    if facts.content.get("order_facts") is None:
        return
    for number, part in enumerate(facts.fields("order_facts").each("parts"), start=1):
        serial = normalise(part.text("serial"))
        yield {
            "number": number,
            "kind": _text(part, "kind"),
            "is_fitted": part.flag("is_fitted"),
            "part_number": _text(part, "part_number"),
            "serial": "" if redacted else _safe(serial),
        }


def _text(fields: Fields, name: str) -> str:
    return _safe(fields.text(name))


def _short(fields: Fields, name: str) -> str:
    """A text that is looked up by: no longer than an index takes."""
    text = _text(fields, name)
    _refuse_long(name, text)
    return text


def _refuse_long(name: str, text: str) -> None:
    if len(text) > LONGEST + len("report "):
        raise ReportError(name, f"longer than {LONGEST} characters")


def _safe(text: str) -> str:
    return make_safe(text)


def _number(fields: Fields, name: str) -> int:
    number = fields.integer(name)
    if not 0 <= number <= GREATEST:
        raise fields.complaint(name, f"a number up to {GREATEST} was expected")
    return number


def _digest(fields: Fields, name: str) -> str:
    """A SHA-256 in hex, or nothing: it has a place of just that width."""
    text = fields.text(name)
    if text and not DIGEST.fullmatch(text):
        raise fields.complaint(name, "a SHA-256 in hex was expected")
    return text
