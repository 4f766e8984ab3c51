"""What is kept of shipped TOML files: the same as their parser makes of them, for all of them."""

import json
import tomllib
from pathlib import Path

import pytest

from closeout.expect import parsed
from closeout.expect.catalogue import findings_folder, load_catalogue, load_entries
from closeout.expect.document import Document, read_document
from closeout.expect.parsed import PLACE, parsed_before
from closeout.expect.shipped import shipped_folder

PROFILES = shipped_folder("profiles")
READ_BY_A_CHECK = sorted(
    [*findings_folder().glob("*.toml"), *PROFILES.glob("*.toml")]
    + [
        path
        for path in PROFILES.glob("*/*.toml")
        if path.parent.name not in {"demo", "examples", "findings"}
    ]
)


@pytest.mark.parametrize("path", READ_BY_A_CHECK, ids=lambda path: path.name)
def test_every_shipped_file_is_kept_as_it_is_now(path: Path) -> None:
    """Where it fails: `make schemas`."""
    raw = path.read_bytes()
    kept = parsed_before(raw)
    assert json.dumps(kept) == json.dumps(tomllib.loads(raw.decode()))


def test_a_changed_file_is_parsed() -> None:
    raw = READ_BY_A_CHECK[0].read_bytes() + b"\n[more]\nkey = 1\n"
    assert parsed_before(raw) is None
    document = read_document("f", raw)
    assert isinstance(document, Document)
    assert document.tree["more"] == {"key": 1}


@pytest.mark.parametrize("content", [None, b"", b"{"])
def test_without_the_file_everything_is_parsed(
    content: bytes | None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    if content is not None:
        (tmp_path / PLACE[0]).mkdir()
        tmp_path.joinpath(*PLACE).write_bytes(content)
    whole = load_catalogue()
    monkeypatch.setattr(parsed, "shipped_folder", lambda _: tmp_path)
    parsed._trees.cache_clear()
    try:
        assert parsed_before(READ_BY_A_CHECK[0].read_bytes()) is None
        assert load_catalogue() == whole
    finally:
        parsed._trees.cache_clear()


def test_the_entries_of_some_rules_are_those_of_the_whole_catalogue() -> None:
    whole = load_catalogue()
    some = load_entries(["wifi.mac", "battery.presence", "wifi.presence", "wifi.mac"])
    assert set(some.entries) == {"wifi.mac", "wifi.presence", "battery.presence"}
    assert all(whole.entries[rule] == entry for rule, entry in some.entries.items())
    assert some.version == whole.version
