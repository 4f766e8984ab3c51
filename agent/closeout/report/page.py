"""A report as one HTML file: page one tells the story, the rest is annex. No script, no link out.

Every value that the template prints goes through `make_safe` and then through autoescape; the
template cannot forget either.
"""

from collections.abc import Iterable
from functools import cache
from typing import Final

from jinja2 import Environment, PackageLoader, StrictUndefined, Template
from markupsafe import Markup

from closeout.model.expectation import Weight
from closeout.model.finding import Finding, Outcome
from closeout.model.frozen import frozen
from closeout.model.inventory import Inventory
from closeout.model.reading import Value
from closeout.model.report import Report
from closeout.report import description, story
from closeout.report.foreign import make_safe

MOST_REASONS: Final = 6
MOST_SAYINGS: Final = 3
"""What page one has room for: where people said something, as many reasons less. The annex has
all of them."""


@frozen
class DeviceView:
    """One device with all its readings in words."""

    label: str
    place: str
    position: str
    lines: tuple[description.Line, ...]


@frozen
class ClassView:
    """One kind of device: the findings about it, and what was read of it.

    An empty one was listed, has no device, and nobody asked for one.
    """

    kind: str
    title: str
    remark: str
    findings: tuple[Finding, ...]
    devices: tuple[DeviceView, ...]
    is_empty: bool


def render_page(report: Report) -> str:
    """The report as HTML; the same report gives the same text."""
    classes = view_classes(report.inventory, report.findings)
    sayings = tuple(part for part in report.findings if part.answer or part.concession)
    return _template().render(
        report=report,
        circumstances=report.circumstances,
        headline=story.headline(report),
        meaning=story.meaning_of(report.verdict),
        unit=description.describe_unit(report.inventory),
        counts=story.count_findings(report.findings),
        weights=tuple(Weight),
        outcomes=tuple(Outcome),
        sayings=sayings,
        classes=tuple(part for part in classes if not part.is_empty),
        empty=tuple(part.title for part in classes if part.is_empty),
        gaps=description.find_gaps(report.inventory),
        cautions=story.cautions(report),
        symbol_of=story.OUTCOME_SYMBOLS.__getitem__,
        name_of=story.name_of,
        caution_of=story.caution_of,
        kind_title=story.kind_title,
        most_reasons=MOST_REASONS - MOST_SAYINGS if sayings else MOST_REASONS,
        most_sayings=MOST_SAYINGS,
    )


def view_classes(inventory: Inventory, findings: Iterable[Finding]) -> tuple[ClassView, ...]:
    """Every section with its findings; a finding about no section has a class of its own."""
    by_kind: dict[str, list[Finding]] = {section.kind: [] for section in inventory.sections}
    for finding in findings:
        by_kind.setdefault(finding.rule.split(".", maxsplit=1)[0], []).append(finding)
    return tuple(
        _view_class(inventory, kind, tuple(about_it)) for kind, about_it in by_kind.items()
    )


def _view_class(inventory: Inventory, kind: str, findings: tuple[Finding, ...]) -> ClassView:
    section = inventory.section(kind)
    return ClassView(
        kind=kind,
        title=story.kind_title(kind),
        remark=description.describe_listing(section),
        findings=findings,
        is_empty=isinstance(section.listing, Value) and not section.devices and not findings,
        devices=tuple(
            DeviceView(
                label=device.label,
                place=device.place,
                position=device.position.value,
                lines=description.describe_device(section, index),
            )
            for index, device in enumerate(section.devices)
        ),
    )


@cache
def _template() -> Template:
    room = Environment(
        loader=PackageLoader("closeout.report"),
        autoescape=True,
        finalize=_finalize,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    room.filters["clip"] = make_safe
    room.filters["duration"] = show_duration
    return room.get_template("report.html")


def _finalize(value: object) -> object:
    """What the template prints, made safe; the output of its own macros is so already."""
    return value if isinstance(value, Markup) else make_safe(str(value))


def show_duration(microseconds: int) -> str:
    """Milliseconds with one place, cut."""
    return f"{microseconds // 1000}.{microseconds % 1000 // 100} ms"
