"""What the rule means that compares the scanned label with the work order."""

from __future__ import annotations

from typing import Final

from closeout.model.catalogue import Entry

ORDER: Final = "order"
"""What stands in place of a kind of device where the order itself is in question."""

LABEL_RULE: Final = f"{ORDER}.label"

LABEL_ENTRY: Final = Entry(
    title="Label of the unit",
    meaning="The label that was scanned off the unit does not give the serial of the work order.",
    impact="The wrong unit or the wrong order is on the bench: what is programmed, fitted or"
    " written down now belongs to another customer.",
    advice="Find out which unit and which order belong together, before anything is programmed:"
    " read label and order with your own eyes, and scan both again.",
    caution="",
    question="",
    answerable=False,
)
