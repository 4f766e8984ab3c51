"""The manual's pages about what can be read and what can be demanded."""

from collections.abc import Iterator
from typing import Final

from closeout.check import OUR_FAULT
from closeout.kernel.failure import Reason
from closeout.model.attribute import Attribute, attributes_of
from closeout.model.expectation import DEMANDS_BY_SHAPE
from closeout.model.inventory import KINDS
from closeout.model.reading import STATE_NAMES
from closeout.readers.attributes import ADVICE
from manual_page import code, page, table


def render_attributes() -> str:
    """Every kind of device with every attribute that a profile can make a demand of."""
    return page("Devices and their attributes", ATTRIBUTES_INTRODUCTION, *_kinds())


ATTRIBUTES_INTRODUCTION: Final = (
    "A profile makes demands of these by kind and attribute. The rule id of a finding is"
    " `kind.attribute`, or `kind.presence` for the number of devices."
    " *Personal* marks what `--redact` takes out of a report."
)


def _kinds() -> Iterator[str]:
    for kind, record in KINDS.items():
        yield f"## {code(kind)}"
        yield (record.__doc__ or "").split("\n\n")[0]
        rows = [_row(name, attribute) for name, attribute in attributes_of(record).items()]
        yield table(["attribute", "meaning", "shape", "unit", ""], rows)


def _row(name: str, attribute: Attribute) -> list[str]:
    personal = "personal" if attribute.personal else ""
    return [code(name), attribute.meaning, attribute.shape.value, attribute.unit, personal]


OWN_ERRORS: Final = {
    Reason.DIED.value: "the process that asked ended before it had the answer; read again",
    "MALFORMED": "what was read makes no sense; the reading says what was expected",
    "MOMENT_UNKNOWN": "when it was read is not known, so it cannot be held against a time",
    "NO_REFERENCE": "no reference time was given to hold the clock against",
    "NOT_MOUNTED": "the file system that would tell it is not mounted",
    "NOT_SORTED": "the messages were not held against the list of known lines",
    "NOT_READ": "no reader of this kind ran; read again with this version",
    "SMART_OFF": "SMART is switched off in the drive; look for it in the firmware's setup",
    "UNKNOWN": "the kernel could not tell, as of a link that is down; use the device, read again",
    OUR_FAULT: "a fault in closeout itself; report it with the evidence",
}


def render_readings() -> str:
    """The states of a reading, the errors of an unreadable one, and what demands there are."""
    states = [
        [code(name), (state.__doc__ or "").split("\n\n")[0]] for state, name in STATE_NAMES.items()
    ]
    errors = [[code(error), advice] for error, advice in sorted((OWN_ERRORS | ADVICE).items())]
    demands = [
        [shape.value, ", ".join(code(demand.__name__) for demand in allowed)]
        for shape, allowed in DEMANDS_BY_SHAPE.items()
    ]
    return page(
        "Readings",
        "One question put to the machine has one of five answers. They are kept apart to the"
        " last line of the report.",
        table(["state", "meaning"], states),
        "## Errors of an unreadable value",
        "Any other error of the kernel's keeps its errno name.",
        table(["error", "what to do"], errors),
        "## What can be demanded of which shape",
        table(["shape", "demands"], demands),
    )
