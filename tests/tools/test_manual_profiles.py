"""The manual's page on profiles: what it shows is a profile, and every key has its word."""

import re
from pathlib import Path

from closeout.expect.load import shipped_parent
from closeout.expect.profile import Profile, parse_profile
from closeout.expect.profile_file import PROFILE_KEYS

PAGE = Path(__file__).resolve().parents[2] / "docs" / "manual" / "profiles.md"
HEAD = 'profile = 1\nid = "a/b"\nrevision = "1"\ntitle = "A B"\n'
ELSEWHERE = {"profile", "id", "revision", "title", "demand"}


TEXT = PAGE.read_text(encoding="utf-8")


def test_examples_are_profiles() -> None:
    shown = re.findall(r"```toml\n(.*?)```", TEXT, re.DOTALL)
    assert len(shown) == 4
    wifi = '[[demand]]\nclass = "wifi"\npresent = true\nweight = "must"\n'
    for example in shown:
        head = "" if "profile = 1" in example else HEAD
        profile = parse_profile("page", f"{head}{example}\n{wifi}".encode(), shipped_parent)
        assert isinstance(profile, Profile), profile.show()


def test_every_key_is_told() -> None:
    for key in set(PROFILE_KEYS) - ELSEWHERE:
        assert re.search(rf"[`\[]{key}\b", TEXT), key
