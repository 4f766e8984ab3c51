"""What a profile says about units that are known: `profile test` and `profile draft`."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from typing import Final

from closeout.check import judge_evidence, read_out
from closeout.cli.terms import Demands
from closeout.cli.trouble import InputTroubleError
from closeout.expect.catalogue import load_catalogue
from closeout.expect.kernel_log import load_log_rules
from closeout.expect.mistake import Mistakes
from closeout.expect.profile import Profile, parse_profile
from closeout.expect.profile_text import write_profile
from closeout.expect.vocabulary import ID_PATTERN, ID_RULE
from closeout.judge.draft import draft_demands, find_blank
from closeout.judge.selection import attribute_of
from closeout.kernel.evidence import Evidence
from closeout.kernel.secrecy import mask_text
from closeout.model.expectation import Expectation
from closeout.model.finding import Finding, Outcome
from closeout.model.inventory import Inventory
from closeout.model.reading import Value
from closeout.model.report import Report

NO_ATTEMPT: Final = 0
NAMELESS: Final = "drafted/model"
CAUTIONS: Final = (
    "# Drafted out of one unit: what was missing in it is not demanded. Go through every line, and",
    "# write beside each value where it is from.",
)
UNLIKELY: Final = ("system.product", "system.serial", "system.uuid")
DOUBT: Final = "# Healthy units seldom leave this blank; was the board programmed?"


def judge_known(evidence: Evidence, profile: Profile) -> Report:
    """The report of a unit under this profile, without an order."""
    demands = Demands(named_profile=profile, work_order=None, log_rules=load_log_rules())
    readout = read_out(evidence)
    return judge_evidence(evidence, readout, demands.terms(readout.inventory, NO_ATTEMPT))


def describe_unit(name: str, report: Report) -> Iterator[str]:
    """The verdict, and a line for each finding that is no pass."""
    yield f"{name}: {report.verdict.value}"
    for finding in report.findings:
        if finding.outcome is not Outcome.PASS:
            yield f"  {_describe(finding)}"


def count_failures(reports: Iterable[Report]) -> Iterator[str]:
    """Which demand is not met on how many units, the most frequent first."""
    units = Counter(
        rule
        for report in reports
        for rule in {one.rule: None for one in report.findings if one.outcome is Outcome.FAIL}
    )
    yield "demands by the number of units that fail them:" if units else "no demand fails"
    for rule, count in sorted(units.items(), key=lambda pair: (-pair[1], pair[0])):
        yield f"  {count:>4}  {rule}"


def draft(evidence: Evidence, identity: str | None) -> str:
    """A profile file that the unit itself meets.

    Raises InputTroubleError where the id is none, or the unit shows nothing to demand.
    """
    if identity is not None and not re.fullmatch(ID_PATTERN, identity):
        raise InputTroubleError(f"--id {identity}: not allowed; allowed: {ID_RULE}")
    inventory = read_out(evidence).inventory
    demands = list(draft_demands(inventory, load_catalogue(), read_table))
    if not demands:
        raise InputTroubleError("the unit shows nothing that a profile could demand")
    maker, product = (_told(inventory, name) for name in ("manufacturer", "product"))
    tree: dict[str, object] = {
        "profile": 1,
        "id": identity or _id_of(maker, product),
        "revision": "draft",
        "title": "Draft",
    }
    titled = {"title": f"{maker} {product}".strip()}
    match = {"matches": {"manufacturer": maker, "product": product}}
    norm = {"norm": {"blank": list(find_blank(inventory))}}
    for more in (titled, match, norm):
        tree = _with(tree, more, demands)
    blank = [name for name in find_blank(inventory) if name in UNLIKELY]
    doubts = [f"{DOUBT} {name}" for name in blank]
    return "\n".join([*CAUTIONS, *doubts, write_profile({**tree, "demand": demands})])


def _with(
    tree: Mapping[str, object], more: Mapping[str, object], demands: object
) -> dict[str, object]:
    """With what a profile can hold; what the unit shows may be no text that a file may have."""
    wider = {**tree, **more}
    text = write_profile({**wider, "demand": demands})
    is_sound = not isinstance(parse_profile("draft", text.encode()), Mistakes)
    return wider if is_sound and _is_sayable(text) else dict(tree)


def read_table(table: Mapping[str, object]) -> tuple[Expectation, ...]:
    """What a demand of a profile asks; nothing where no file can hold it, or may."""
    head = {"profile": 1, "id": "draft", "revision": "1", "title": "Draft"}
    text = write_profile({**head, "demand": [table]})
    profile = parse_profile("draft", text.encode())
    if isinstance(profile, Mistakes) or not _is_sayable(text):
        return ()
    return profile.expectations


def _is_sayable(text: str) -> bool:
    """Whether no licence key is in it."""
    return mask_text(text) == text


def _told(inventory: Inventory, name: str) -> str:
    for device in inventory.section("system").devices:
        reading = attribute_of(device, name)
        if isinstance(reading, Value):
            return str(reading.value)
    return ""


def _id_of(maker: str, product: str) -> str:
    slugs = [
        re.sub(r"[^a-z0-9]+", "-", text.casefold()).strip("-")[:40].strip("-")
        for text in (maker, product)
    ]
    return "/".join(slugs) if all(slugs) else NAMELESS


def _describe(finding: Finding) -> str:
    said = f"{finding.outcome.value}, a {finding.weight.value}: {finding.rule} ({finding.label})"
    return f"{said}: expected {finding.expected}, found {finding.found}. By {finding.origin}"
