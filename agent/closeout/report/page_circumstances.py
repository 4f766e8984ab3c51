"""Who judged what with what: the block that an auditor reads on page one."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator
from typing import Final

from closeout.model.expectation import Weight
from closeout.model.handling import EarlierAttempt, Handling, OrderFacts, PartChange
from closeout.model.profile_signature import ProfileSignature, SignatureState
from closeout.model.report import Circumstances, Report, SourceFile
from closeout.report.foreign import make_safe as clip
from closeout.report.html import Html, fill, joined
from closeout.report.story import kind_title, say_signature

NOT_TOLD: Final = "not told"


def render_circumstances(report: Report, room: int) -> Html:
    """Everything about this check, in at most so many columns each."""
    facts = report.circumstances
    rows = (
        ("Order", "two", _order(report, room)),
        ("Checked by", "one", _handling(facts.handling, room)),
        ("Started from", "one", fill("{}, {}", clip(facts.medium, room), clip(facts.kernel, room))),
        ("Time", "two", _time(facts, room)),
        ("Agent", "one", fill("{}", clip(facts.agent, room))),
        ("Profile", "two", _source(facts.profile, room)),
        ("Profile set", "one", _possible(facts.profile_set, room)),
        ("Signature", "two", _signature(facts.profile_signature, room)),
        ("Repair map", "one", _possible(facts.repair_map, room)),
        ("Rules", "one", _source(facts.rules, room)),
        ("Work order", "one", _possible(facts.work_order, room)),
        ("In force", "three", fill("{}", clip(_demands_in_force(report), 4 * room))),
        *_parts(facts.order_facts, room),
        *_omissions(facts.order_facts, room),
        *_earlier(report.earlier, room),
        ("Evidence", "one", _evidence(facts, room)),
    )
    shown = joined(
        fill('<dt>{}</dt><dd class="{}">{}</dd>\n', title, lines, text)
        for title, lines, text in rows
    )
    return fill("<dl>\n{}</dl>\n", shown)


def _order(report: Report, room: int) -> Html:
    facts = report.circumstances
    pieces = ["draft, not counted as an attempt" if facts.is_draft else f"attempt {facts.attempt}"]
    if report.revision > 1:
        pieces.append(f"revision {report.revision}")
    order = fill("{}, {}", clip(facts.order or "none", room), ", ".join(pieces))
    repairs = [
        fill("; {}: {}", title, clip(", ".join(names), room))
        for title, names in (("repairs", facts.repairs), ("reopened", facts.reopened))
        if names
    ]
    return joined((order, *repairs))


def _handling(handling: Handling, room: int) -> Html:
    build = f" (build {handling.stick_build})" if handling.stick_build else ""
    return fill(
        "operator {}, station {}, stick {}{}",
        clip(handling.operator or NOT_TOLD, room // 3),
        clip(handling.station or NOT_TOLD, room // 3),
        clip(handling.stick or NOT_TOLD, room // 3),
        clip(build, room // 3),
    )


def _time(facts: Circumstances, room: int) -> Html:
    started, finished = facts.started, facts.finished
    return fill(
        "{} ({}) to {} ({})",
        clip(started.text, room),
        clip(started.source, room),
        clip(finished.text, room),
        clip(finished.source, room),
    )


def _source(source: SourceFile, room: int) -> Html:
    return fill(
        '{} {} <span class="exact muted">{}</span>\n',
        clip(source.name, room // 2),
        clip(source.revision, room // 2),
        clip(source.digest, room),
    )


def _possible(source: SourceFile | None, room: int) -> Html:
    return _source(source, room) if source else fill("none")


def _signature(signature: ProfileSignature, room: int) -> Html:
    """Whether the lead signed the profile in force; what is not signed stands out."""
    said = clip(say_signature(signature), 2 * room)
    return fill("{}" if signature.state is SignatureState.SIGNED else "<b>{}</b>", said)


def _demands_in_force(report: Report) -> str:
    """How many demands of each weight, and how many come from which file."""
    weights = Counter(finding.weight for finding in report.findings)
    origins = Counter(_file_of(finding.origin) for finding in report.findings)
    counted = ", ".join(f"{weights[weight]} {weight.value}" for weight in Weight)
    files = ", ".join(f"{count} of {origin}" for origin, count in sorted(origins.items()))
    return f"{counted}; {files}" if files else counted


def _file_of(origin: str) -> str:
    """The file that made a demand, without the place in it or its source."""
    return re.split(r" \(|;|, profile ", origin, maxsplit=1)[0] or NOT_TOLD


def _parts(facts: OrderFacts, room: int) -> Iterator[tuple[str, str, Html]]:
    for title, is_fitted in (("Parts fitted", True), ("Parts removed", False)):
        named = [_name_part(part) for part in facts.parts if part.is_fitted is is_fitted]
        if named:
            yield title, "two", fill("{}", clip("; ".join(named), 2 * room))


def _name_part(part: PartChange) -> str:
    told = [part.part_number, f"serial {part.serial}" if part.serial else ""]
    numbers = ", ".join(text for text in told if text) or "no number told"
    return f"{kind_title(part.kind)}: {numbers}"


def _omissions(facts: OrderFacts, room: int) -> Iterator[tuple[str, str, Html]]:
    for title, omitted in (("Not present", facts.not_present), ("Declined", facts.declined)):
        if omitted:
            told = "; ".join(f"{kind_title(each.what)}: {each.reason}" for each in omitted)
            yield title, "one", fill("{}", clip(told, 2 * room))


def _earlier(attempts: Iterable[EarlierAttempt], room: int) -> Iterator[tuple[str, str, Html]]:
    told = [_tell(attempt) for attempt in attempts]
    if told:
        yield "Attempts before", "two", fill("{}", clip("; ".join(reversed(told)), 3 * room))


def _tell(attempt: EarlierAttempt) -> str:
    why = f" ({attempt.reasons[0]})" if attempt.reasons else ""
    reopened = f", reopened {', '.join(attempt.reopened)}" if attempt.reopened else ""
    when = attempt.started.text
    return f"{attempt.attempt}: {attempt.verdict}{why}, {when}{reopened}"


def _evidence(facts: Circumstances, room: int) -> Html:
    digest = clip(facts.evidence_digest, room)
    return fill('{} readings <span class="exact muted">{}</span>', facts.readings, digest)
