"""Where a parent's file is found, and what all shipped files are together."""

from hashlib import sha256
from pathlib import Path

import pytest

from closeout.expect import load
from closeout.expect.load import lint_files, load_profile, profile_set, shipped_profiles
from closeout.expect.mistake import Mistakes
from closeout.expect.profile import Profile
from closeout.expect.shipped import ShippedFileError, shipped_folder
from strategies.profile_chains import SERIAL, WIFI, file


def test_parents_are_found_in_the_folder_tree(tmp_path: Path) -> None:
    maker, model = tmp_path / "a.toml", tmp_path / "a" / "b.toml"
    model.parent.mkdir()
    maker.write_text(file("a", SERIAL, base=True))
    model.write_text(file("a/b", WIFI, inherits="a"))
    assert lint_files([maker, model]) is None
    profile = load_profile(str(model))
    assert isinstance(profile, Profile)
    assert [one.rule for one in profile.expectations] == ["system.serial", "wifi.presence"]
    maker.write_text("[")
    broken = lint_files([model])
    assert broken is not None
    assert broken.found[0].file == str(maker)
    maker.unlink()
    maker.mkdir()
    missing = lint_files([model])
    assert missing is not None
    assert "no profile a: none ships" in missing.show()


def test_shipped_parents_serve_files_elsewhere(tmp_path: Path) -> None:
    model = tmp_path / "x.toml"
    model.write_text(file("depot/fen-15", inherits="northlake/fen"))
    profile = load_profile(str(model))
    assert isinstance(profile, Profile)
    assert [one.name for one in profile.chain] == ["northlake", "northlake/fen", "depot/fen-15"]


def test_base_is_not_what_a_unit_is_judged_by(tmp_path: Path) -> None:
    base = tmp_path / "a.toml"
    base.write_text(file("a", SERIAL, base=True))
    for wanted in ("northlake/fen", str(base)):
        refused = load_profile(wanted)
        assert isinstance(refused, Mistakes)
        assert "a base, which no unit is judged by" in refused.show()
        assert isinstance(load_profile(wanted, with_ancestors=True), Profile)


def test_set_is_all_shipped_profiles() -> None:
    folder = shipped_folder("profiles")
    names = sorted(profile.id for profile in shipped_profiles())
    whole = sha256()
    for name in sorted(names, key=lambda one: folder / f"{one}.toml"):
        whole.update(name.encode() + b"\0" + (folder / f"{name}.toml").read_bytes() + b"\0")
    told_set = profile_set()
    assert told_set.digest == whole.hexdigest()
    assert told_set.name == "profiles"
    assert told_set.revision


@pytest.mark.parametrize(
    ("content", "wrong"),
    [
        (None, "set.toml: cannot be read"),
        (b"set = ", "not valid TOML"),
        (b'set = 2\nversion = "1"\n', "format 2 is not known here"),
        (b"set = 1\n", "version: missing"),
        (b'set = 1\nversion = "1"\ncolour = 1\n', "no such key"),
    ],
)
def test_set_without_a_version_is_an_installation_that_is_not_whole(
    content: bytes | None, wrong: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    if content is not None:
        (tmp_path / "set.toml").write_bytes(content)
    monkeypatch.setattr(load, "shipped_folder", lambda _: tmp_path)
    with pytest.raises(ShippedFileError, match=wrong):
        profile_set()


def test_set_changes_with_every_file_and_with_its_place(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(load, "shipped_folder", lambda _: tmp_path)
    (tmp_path / "a").mkdir()
    (tmp_path / "set.toml").write_text('set = 1\nversion = "7"\n')
    seen = {profile_set().digest}
    for place in ("a.toml", "a/b.toml", "a/c.toml"):
        (tmp_path / place).write_text("x")
        seen.add(profile_set().digest)
    (tmp_path / "a" / "c.toml").write_text("y")
    seen.add(profile_set().digest)
    (tmp_path / "repairs").mkdir()
    (tmp_path / "repairs" / "map.toml").write_text("no profile")
    assert profile_set().digest in seen
    assert len(seen) == 5
    assert profile_set().revision == "7"
