"""Names of bus devices out of the system's ids files, asked through the tree.

Question: `names pci VVVV:DDDD` or `names usb VVVV:PPPP` (decode.ids_file); a source that has no
such file does not offer it, and the numbers stand alone.
"""

from __future__ import annotations

from closeout.decode.failure import DecodeError
from closeout.decode.ids_file import decode_names, names_question
from closeout.kernel.failure import ReadError, Reason
from closeout.kernel.tree import KernelTree
from closeout.model.frozen import frozen
from closeout.model.reading import Absent, Reading, Unreadable, Value
from closeout.readers.attributes import no_value


@frozen
class BusNames:
    """What the ids file calls the vendor and the device."""

    vendor: Reading[str]
    device: Reading[str]


def read_names(tree: KernelTree, bus: str, ids: Reading[str]) -> BusNames:
    """The names for `vendor:device` on a bus (`pci` or `usb`)."""
    if not isinstance(ids, Value):
        return BusNames(vendor=ids, device=ids)
    question = names_question(bus, ids.value)
    try:
        names = decode_names(tree.ask(question))
    except ReadError as failure:
        unnamed = _unanswered(failure)
        return BusNames(vendor=unnamed, device=unnamed)
    except DecodeError as error:
        malformed = Unreadable(error="MALFORMED", advice=str(error), sources=(question,))
        return BusNames(vendor=malformed, device=malformed)
    return BusNames(vendor=_listed(names.vendor, question), device=_listed(names.device, question))


def _unanswered(failure: ReadError) -> Absent | Unreadable:
    if failure.reason is Reason.NOT_OFFERED:
        return Absent(reason="the system has no file of names", sources=(failure.question,))
    return no_value(failure)


def _listed(name: str | None, question: str) -> Reading[str]:
    if name is None:
        return Absent(reason="the file of names does not list it", sources=(question,))
    return Value(value=name, sources=(question,))
