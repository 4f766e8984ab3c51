"""What the profile says is built in, where the name that the kernel gives does not tell."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class BuiltIn:
    """`connectors` are display connectors inside the unit, by the kernel's name: eDP-1."""

    connectors: tuple[str, ...] = ()
