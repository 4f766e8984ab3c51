"""What a reader is: how to find the devices of a kind, and how to read one of them."""

from __future__ import annotations

from collections.abc import Callable

from closeout.kernel.tree import KernelTree
from closeout.model.device import Device
from closeout.model.frozen import frozen
from closeout.model.inventory import Listing


@frozen
class Reader:
    """`find` lists the places of a kind; `read` makes the device at one place.

    Both ask only through the tree they are given, and neither ever raises for what the machine
    answers or does not answer. Each place is read apart from the others, so that one that hangs
    costs its own attributes and no more.
    """

    kind: str
    find: Callable[[KernelTree], Listing]
    read: Callable[[KernelTree, str], Device]
