"""The words that placeholders and template names are made of.

Collected from what the fields of SMBIOS (DSP0134) are called, from how firmware templates
abbreviate them, and from the words for nothing that stand in their place.
"""

from __future__ import annotations

from typing import Final


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


THINGS: Final = _words("""
    adapter array asset bank base baseboard batt battery bios board box card case channel
    chassis computer cpu desktop dev device dimm dmi enclosure laptop mainboard mb mem memory
    mod module motherboard nb notebook odm oem package pc pcb platform power proc processor
    product psu sbds server slot smbios socket sodimm supply sys system tablet tower type unit
    workstation
""")
"""What a field is about."""

PARTICULARS: Final = _words("""
    assettag chem chemistry code date define defined designation family id identifier loc
    location locator maker manuf manufacture manufacturer manufacturers mfg mfgr mfr model
    modelname name no num number part partno pn product productname rev revision ser serial
    serialno serialnumber sernum sku sn string strings tag value vendor ver version
""")
"""What a field tells about it."""

COUNTED: Final = _words("""
    code family id location model part product rev revision sku type value ver version
""")
"""Particulars that real values carry with a number or letter behind: `Version 1.0`."""

NOTHING: Final = _words("""
    absent blank default defaults dummy empty example fake invalid missing nil none nothing nul
    null placeholder please replace reserved sample tba tbc tbd temp template test unassigned
    unavailable undefine undefined uninitialized unknow unknown unpopulated unprogrammed unset
    unspecified unused void
""")
"""Words that say that there is nothing to say."""

NEGATED: Final = _words("""
    applicable applied assigned available completed configured connected defined detected
    determined entered filled found implemented initialized installed known populated present
    programmed provided recorded set settable specified supplied supported used valid written
""")
"""Words that say so with a `not` before them."""

GLUE: Final = _words("""
    a1 a2 and be by change data enter fill for in information inject is me more not of or the to
    update
""")
"""Words that may stand between the others."""

VOCABULARY: Final = THINGS | PARTICULARS | NOTHING | NEGATED | GLUE

PHRASES: Final = (
    "tobefilledbyoem",
    "tobedefinedbyoem",
    "tobesetbyoem",
    "tobedetermined",
    "filledbyoem",
    "fillbyoem",
    "defaultstring",
    "defaultvalue",
    "undefined",
    "unspecified",
    "unavailable",
    "unknown",
    *sorted(f"not{word}" for word in NEGATED),
)
"""Placeholders in full, by their letters."""

CARRIERS: Final = (
    "tobefilled",
    "filledbyo",
    "defaultstring",
    "notapplicable",
    "notavailable",
    "notspecified",
    "notdefined",
)
"""Phrases that make a text filler wherever in it they stand."""
