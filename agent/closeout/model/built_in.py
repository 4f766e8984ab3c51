"""What the profile says is built in, where the name that the kernel gives does not tell."""

from closeout.model.frozen import frozen


@frozen
class BuiltIn:
    """`connectors` are display connectors inside the unit, by the kernel's name: eDP-1."""

    connectors: tuple[str, ...] = ()
