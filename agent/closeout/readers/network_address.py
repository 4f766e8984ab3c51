"""Addresses of network interfaces: the one in use, where it is from, and the card's own.

Kernel paths: `sys/class/net/NAME/address` and `addr_assign_type`
(Documentation/ABI/testing/sysfs-class-net); the card's own is asked for as
`net permanent-address NAME`, since no file tells it.
"""

from __future__ import annotations

from typing import Final

from closeout.decode.mac import MacForm, describe_mac
from closeout.decode.plain_text import decode_text
from closeout.kernel.failure import ReadError
from closeout.kernel.tree import KernelTree
from closeout.model.reading import Absent, Reading, Value, convert
from closeout.readers.attributes import no_value, read_integer, read_text, understand
from closeout.readers.first_told import first_told
from closeout.readers.places import label_of

ORIGINS: Final = {0: "permanent", 1: "random", 2: "stolen", 3: "set"}
"""Words for NET_ADDR_PERM, _RANDOM, _STOLEN and _SET (include/uapi/linux/net.h)."""
UNTOLD: Final = "the driver tells no permanent address"


def read_current(tree: KernelTree, place: str) -> Reading[str]:
    """The address in use."""
    return convert(read_text(tree, f"{place}/address"), str.lower)


def read_origin(tree: KernelTree, place: str) -> Reading[str]:
    """Where the address in use is from, in a word."""
    number = read_text(tree, f"{place}/addr_assign_type")
    words = {str(key): word for key, word in ORIGINS.items()}
    return understand(number, "a number from 0 to 3", words.get)


def read_permanent(tree: KernelTree, place: str) -> Reading[str]:
    """The card's own address: what the driver tells, else that in use where it is the same."""
    ways = (
        lambda: ask_address(tree, f"net permanent-address {label_of(place)}", UNTOLD),
        lambda: _current_if_permanent(tree, place),
    )
    return first_told(ways, UNTOLD)


def ask_address(tree: KernelTree, question: str, untold: str) -> Reading[str]:
    """The address that a question answers; all zero stands for one that nobody told."""
    try:
        answer = decode_text(tree.ask(question)).strip().lower()
    except ReadError as failure:
        return no_value(failure)
    if not answer.strip("0:"):
        return Absent(reason=untold, sources=(question,))
    return Value(value=answer, sources=(question,))


def read_soundness(mac: Reading[str]) -> Reading[str]:
    """What an address says of itself, in the words of `decode.mac`."""
    return convert(mac, lambda text: describe_mac(text).value)


def is_sound(mac: str) -> bool:
    """It is an address that a maker gives."""
    return describe_mac(mac) is MacForm.UNIVERSAL


def _current_if_permanent(tree: KernelTree, place: str) -> Reading[str]:
    assigned = read_integer(tree, f"{place}/addr_assign_type")
    if isinstance(assigned, Value) and ORIGINS.get(assigned.value) == "permanent":
        return read_current(tree, place)
    return Absent(reason=UNTOLD, sources=assigned.sources)
