"""Writes what the TOML parser makes of the shipped profiles and the catalogue.

python tools/parse_shipped.py           writes profiles/parsed/shipped.json
python tools/parse_shipped.py --check   ends with 1 where it differs
"""

import json
import sys
import tomllib
from hashlib import sha256
from pathlib import Path
from typing import Final

from closeout.expect.load import OTHER_FOLDERS
from closeout.expect.parsed import PLACE

PROFILES: Final = Path(__file__).resolve().parent.parent / "profiles"
PARSED: Final = PROFILES.joinpath(*PLACE)
NO_PROFILES: Final = OTHER_FOLDERS - {"findings", "kernel-log", "repairs"}


def parse_shipped() -> bytes:
    """The file: the tree of every shipped TOML file that a check reads, by its SHA-256."""
    trees: dict[str, object] = {}
    for path in sorted(PROFILES.rglob("*.toml")):
        if path.relative_to(PROFILES).parts[0] not in NO_PROFILES:
            raw = path.read_bytes()
            text = raw.decode("utf-8").replace("\r\n", "\n")
            trees[sha256(raw).hexdigest()] = tomllib.loads(text)
    return json.dumps(trees, ensure_ascii=False, indent=1).encode() + b"\n"


def main() -> int:
    """Writes the file, or says whether it is as it would be written."""
    wanted = parse_shipped()
    if "--check" in sys.argv[1:]:
        return 0 if PARSED.is_file() and PARSED.read_bytes() == wanted else 1
    PARSED.parent.mkdir(exist_ok=True)
    PARSED.write_bytes(wanted)
    print(f"written: {PARSED}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
