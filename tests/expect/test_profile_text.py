"""A profile written out of its values reads the same."""

import json

from hypothesis import given

from closeout.expect.mistake import Mistakes
from closeout.expect.profile import Profile, parse_profile
from closeout.expect.profile_text import write_profile
from strategies.profiles import profiles


@given(profiles())
def test_what_is_written_reads_the_same(tree: dict[str, object]) -> None:
    written = parse_profile("x", write_profile(tree).encode())
    known = parse_profile("x", json.dumps(tree).encode())
    assert isinstance(known, Profile)
    if isinstance(written, Mistakes):  # many dots on a line are refused of TOML alone
        assert "dots" in written.show()
        return
    assert written.expectations == known.expectations
    assert written.options == known.options
    assert written.labels == known.labels
