"""`closeout decode`: one JSON object a line for each file, errors included."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Final

from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import DONE, ExitCode
from closeout.cli.words import say_json
from closeout.decode.drive_description import (
    describe_ata_identify,
    describe_ata_smart,
    describe_nvme_smart,
)
from closeout.decode.edid_description import describe_edid
from closeout.decode.failure import DecodeError
from closeout.decode.msdm import describe_msdm
from closeout.decode.smbios_description import describe_smbios
from closeout.kernel.privacy import forbid_core_dumps

LARGEST_FILE: Final = 16 << 20

DECODERS: Final[Mapping[str, Callable[[bytes], Mapping[str, object]]]] = {
    "smbios": describe_smbios,
    "edid": describe_edid,
    "msdm": describe_msdm,
    "nvme-smart": describe_nvme_smart,
    "ata-identify": describe_ata_identify,
    "ata-smart": describe_ata_smart,
}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds the format and the files."""
    parser.add_argument("format", choices=sorted(DECODERS), help="what the files hold")
    parser.add_argument("files", nargs="+", metavar="FILE", type=Path, help="files to decode")


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Decodes every file; a bad one gets its line and the rest goes on."""
    forbid_core_dumps()
    ending = DONE
    for file in options.files:
        line = describe_file(options.format, file)
        say_json(line, surroundings)
        if "error" in line:
            ending = ExitCode.BAD_INPUT
    return ending


def describe_file(kind: str, file: Path) -> dict[str, object]:
    """The decoded content of a file, or what is wrong with it and at which byte."""
    try:
        with file.open("rb") as stream:
            raw = stream.read(LARGEST_FILE + 1)
    except OSError as error:
        return {"file": str(file), "error": f"cannot be read: {error.strerror}"}
    except ValueError:
        return {"file": str(file), "error": "cannot be read: no name that a file can have"}
    if len(raw) > LARGEST_FILE:
        return {"file": str(file), "error": f"larger than {LARGEST_FILE} bytes"}
    try:
        return {"file": str(file), **DECODERS[kind](raw)}
    except DecodeError as error:
        return {"file": str(file), "error": error.message, "offset": error.offset}
