"""The few shapes in which most tools write: a part for each device, and `label : value` lines."""

from collections.abc import Mapping

from notebook.opinions import ToolOutput


def parts_by_device(output: ToolOutput) -> dict[str, str]:
    """The text behind each `# DEVICE` line, by the last part of the device's path."""
    parts: dict[str, list[str]] = {}
    lines: list[str] = []
    for line in output.text.split("\n"):
        if line.startswith("# "):
            lines = parts.setdefault(line.removeprefix("# ").split("/")[-1], [])
        else:
            lines.append(line)
    return {device: "\n".join(lines) for device, lines in parts.items()}


def labelled(text: str, mark: str = ":") -> dict[str, str]:
    """The value behind each label, both without the spaces around them; the first one counts."""
    found: dict[str, str] = {}
    for line in text.split("\n"):
        label, marked, value = line.partition(mark)
        if marked:
            found.setdefault(label.strip(), value.strip())
    return found


def chosen(found: Mapping[str, str], names: Mapping[str, str]) -> dict[str, object]:
    """Attributes by the tool's labels: those that the tool tells at all."""
    return {ours: found[theirs] for theirs, ours in names.items() if theirs in found}
