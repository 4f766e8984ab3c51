"""What the profile says is built in, where the name that the kernel gives does not tell."""

from __future__ import annotations

from closeout.model.frozen import frozen


@frozen
class BuiltIn:
    """`connectors` are display connectors inside the unit, by the kernel's name: eDP-1.

    `usb_ports` (`1-4`, `1-4.2`) and `usb_ids` (`fe41:0101`) name USB devices that belong to the
    unit, such as the keyboard dock of a detachable, with everything behind them.
    """

    connectors: tuple[str, ...] = ()
    usb_ports: tuple[str, ...] = ()
    usb_ids: tuple[str, ...] = ()
