"""What a finding is called: the catalogue's title, and the device where that says more."""

from __future__ import annotations

from closeout.model.catalogue import Entry
from closeout.model.expectation import PRESENCE
from closeout.model.finding import Finding


def name_finding(finding: Finding, entry: Entry) -> str:
    """The matter in a few words: `Serial number of the unit`, `Health of the battery (BAT0)`.

    A missing part goes by what people call it: `Fingerprint reader`. A title that ends as the
    part's name begins goes on with it: `Size of the memory module in slot 2`.
    """
    kind, _, attribute = finding.rule.partition(".")
    label = finding.label
    if label.replace(" ", "_") == kind or label.casefold() == entry.title.casefold():
        return entry.title
    if attribute == PRESENCE:
        return f"{label[:1].upper()}{label[1:]}"
    words = entry.title.split(" ")
    for at in range(1, len(words)):
        ending = " ".join(words[at:])
        if f"{label} ".casefold().startswith(f"{ending} ".casefold()):
            return f"{' '.join(words[:at])} {label}"
    return f"{entry.title} ({label})"
