"""What od, acpidump, iasl and free say of firmware state, licence table and memory."""

from collections.abc import Iterator, Mapping
from typing import Final

from notebook.opinions import ToolOutput
from notebook.parsed_text import labelled, parts_by_device
from notebook.shown import Claim, Shown

ENABLED_AT: Final = 4
"""A variable's file begins with four bytes of attributes (Documentation/filesystems/efivarfs)."""
LICENCE: Final = "MSDM"
WHOLE_LICENCE: Final = 36 + 20 + 29
"""An ACPI header, the licence's own, and a key with its dashes."""


def firmware_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """How the unit was started, and the two variables of Secure Boot."""
    tool = "efi-variables"
    output = outputs[tool]
    variables = {name.split("-")[0]: text for name, text in parts_by_device(output).items()}
    told: dict[str, object] = {
        "boot_mode": "uefi" if "efi" in output.text.split("# ")[0].split() else "legacy",
        "secure_boot": _flag(variables, "SecureBoot"),
        "setup_mode": _flag(variables, "SetupMode"),
    }
    yield from shown.only("firmware").claims(tool, told)


def licence_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """That the table is there, its sum and length, and the last five characters of the key."""
    tables = [line.split()[1] for line in outputs["acpidump"].text.splitlines() if line]
    yield from shown.only("licence").claims("acpidump", {"present": LICENCE in tables})
    text = outputs["iasl"].text
    fields = {label.split("]")[-1].strip(): value for label, value in labelled(text, " : ").items()}
    told: dict[str, object] = {
        "well_formed": int(fields["Table Length"], 16) == WHOLE_LICENCE,
        "checksum_good": "Incorrect checksum" not in text,
        "key_token": text.splitlines()[-1],
    }
    yield from shown.only("licence").claims("iasl", told)


def memory_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """All memory that the kernel manages, in bytes."""
    total = labelled(outputs["free"].text)["Mem"].split()[0]
    yield from shown.only("main_memory").claims("free", {"kernel_total_bytes": int(total)})


def _flag(variables: Mapping[str, str], name: str) -> bool | None:
    if name not in variables:
        return None
    return bytes.fromhex(variables[name])[ENABLED_AT] == 1
