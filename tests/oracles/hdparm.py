"""What hdparm reads out of an answer to IDENTIFY DEVICE (`hdparm --Istdin`, words in hex)."""

import re
import shutil
import subprocess
from dataclasses import dataclass
from typing import Final

LINE: Final = 8
SECURITY: Final = {
    "supported": "supported",
    "enabled": "enabled",
    "locked": "locked",
    "frozen": "frozen",
    "expired: security count": "attempts used up",
    "supported: enhanced erase": "enhanced erase supported",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class HdparmIdentity:
    """The same fields as ours, in the tool's understanding."""

    model: str
    serial: str
    firmware: str
    sectors: int | None
    logical_sector_bytes: int
    physical_sector_bytes: int
    rotations_per_minute: int | None
    security: tuple[str, ...]
    checksum_good: bool | None


def reason_to_skip() -> str:
    """Why there is nothing to compare with; empty where there is."""
    return "" if shutil.which("hdparm") else "hdparm is not installed (package hdparm)"


def identify(raw: bytes) -> HdparmIdentity:
    """The tool's words as fields."""
    words = [f"{int.from_bytes(raw[at : at + 2], 'little'):04x}" for at in range(0, len(raw), 2)]
    lines = [" ".join(words[at : at + LINE]) for at in range(0, len(words), LINE)]
    done = subprocess.run(
        ["hdparm", "--Istdin"],
        input="\n".join(lines).encode() + b"\n",
        capture_output=True,
        check=True,
        timeout=30,
    )
    return _understand(done.stdout.decode("latin-1"))


def _understand(text: str) -> HdparmIdentity:
    wide, narrow = (
        _number(text, "LBA48  user addressable"),
        _number(text, "LBA    user addressable"),
    )
    return HdparmIdentity(
        model=_text(text, "Model Number"),
        serial=_text(text, "Serial Number"),
        firmware=_text(text, "Firmware Revision"),
        sectors=wide or narrow or None,
        logical_sector_bytes=_number(text, r"Logical(?:  Sector|/Physical Sector) size") or 512,
        physical_sector_bytes=_number(text, r"(?:Physical|Logical/Physical) Sector size") or 512,
        rotations_per_minute=_rotation(text),
        security=_security(text),
        checksum_good={"correct": True, None: None}.get(_word(text, "Checksum"), False),
    )


def _text(text: str, label: str) -> str:
    found = re.search(rf"^\t{label}: +(.*)$", text, re.MULTILINE)
    return found[1].strip() if found else ""


def _word(text: str, label: str) -> str | None:
    found = re.search(rf"^{label}: (\w+)", text, re.MULTILINE)
    return found[1] if found else None


def _number(text: str, label: str) -> int:
    found = re.search(rf"{label}[^:]*: +(\d+)", text)
    return int(found[1]) if found else 0


def _rotation(text: str) -> int | None:
    found = re.search(r"Nominal Media Rotation Rate: (.*)", text)
    if not found or not (found[1].isdigit() or found[1] == "Solid State Device"):
        return None
    return int(found[1]) if found[1].isdigit() else 0


def _security(text: str) -> tuple[str, ...]:
    """A line of it is a word that holds, or `not` before one that does not."""
    _, _, part = text.partition("\nSecurity: \n")
    lines = part.partition("\nChecksum")[0].split("\n")
    told = tuple(
        SECURITY[line.strip()]
        for line in lines
        if line.startswith("\t\t") and line.strip() in SECURITY
    )
    return (*told, "maximum level") if "Security level maximum" in part else told
