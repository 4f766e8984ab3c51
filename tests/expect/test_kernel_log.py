"""The list of known lines: what ships, and every mistake that such a list can have."""

from pathlib import Path

import pytest

from closeout.expect import kernel_log
from closeout.expect.kernel_log import load_log_rules, parse_log_rules
from closeout.expect.log_line import fault_of_line
from closeout.expect.mistake import Mistakes
from closeout.expect.profile import Profile, parse_profile
from closeout.expect.shipped import ShippedFileError, shipped_folder
from closeout.judge.kernel_log import find_rule
from closeout.model.log_rules import LogRule, LogRules

HEAD = 'kernel_log = 1\nversion = "1"\n'
LINE = """
[[{nature}]]
pattern = '{pattern}'
meaning = "it means so"
examples = ["{example}"]
"""
HARMLESS = LINE.format(nature="harmless", pattern="^quiet ", example="quiet here")
TROUBLE = LINE.format(nature="trouble", pattern="loud", example="very loud")
WHOLE = HEAD + HARMLESS + TROUBLE


def wrong(text: str) -> list[str]:
    found = parse_log_rules("lines.toml", text.encode())
    assert isinstance(found, Mistakes)
    return [f"{mistake.line} {mistake.key}: {mistake.wrong}" for mistake in found.found]


def test_the_shipped_list_has_both_kinds() -> None:
    rules = load_log_rules()
    assert len(rules.harmless) >= 20
    assert len(rules.trouble) >= 15


def test_the_shipped_list_has_no_mistake_and_is_kept_as_it_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept = load_log_rules()
    raw = (shipped_folder("profiles") / "kernel-log/lines.toml").read_bytes()
    spaced = raw + b"\n"  # of another digest, so that it is read as anybody's
    assert parse_log_rules("lines.toml", spaced) == kept
    (tmp_path / "kernel-log").mkdir()
    (tmp_path / "kernel-log/lines.toml").write_bytes(spaced)
    monkeypatch.setattr(kernel_log, "shipped_folder", lambda _: tmp_path)
    assert load_log_rules() == kept


@pytest.mark.parametrize(
    ("text", "nature"),
    [
        ("nvme nvme0: I/O 128 QID 2 timeout, aborting", "trouble"),
        ("pcieport 0000:00:04.0: AER: Correctable error message received", "trouble"),
        ("mce: [Hardware Error]: Machine check events logged", "trouble"),
        ("platform regulatory.0: Direct firmware load for regulatory.db failed", "harmless"),
        ("radio 0000:02:00.0: Direct firmware load for x.bin failed with error -2", "trouble"),
        ("ACPI BIOS Error (bug): Could not resolve symbol", "harmless"),
        ("nobody knows this line", ""),
    ],
)
def test_the_shipped_list_knows(text: str, nature: str) -> None:
    rules = load_log_rules()
    known = {"harmless": rules.harmless, "trouble": rules.trouble}
    found = [name for name, lines in known.items() if find_rule(text, lines)]
    assert found[:1] == ([nature] if nature else [])


def test_a_list_is_read() -> None:
    assert parse_log_rules("lines.toml", WHOLE.encode()) == LogRules(
        harmless=(LogRule(pattern="^quiet ", meaning="it means so"),),
        trouble=(LogRule(pattern="loud", meaning="it means so"),),
    )


def test_every_mistake_is_told_with_its_place() -> None:
    spoiled = WHOLE.replace("meaning", "meening", 1) + LINE.format(
        nature="trouble", pattern="loud", example="very loud"
    )
    told = wrong(spoiled)
    assert any("meening" in text and "meaning" in text for text in told)
    assert any("meaning: missing" in text for text in told)
    assert any("the same pattern as on line" in text for text in told)


@pytest.mark.parametrize(
    ("pattern", "what"),
    [
        ("(", "not a pattern"),
        ("a.*b.*c", "too many ways for a long line"),
        ("(?i)a", "not offered"),
        ("never", "not found in its own example"),
    ],
)
def test_a_pattern_that_is_unsafe_or_never_found_is_told(pattern: str, what: str) -> None:
    (told,) = wrong(HEAD + HARMLESS + LINE.format(nature="trouble", pattern=pattern, example="x"))
    assert what in told


def test_a_line_without_anything_misses_everything() -> None:
    told = wrong(HEAD + TROUBLE + "[[harmless]]\n")
    assert [text.partition(": ")[2] for text in told] == ["missing"] * 3


def test_trouble_is_not_hidden_by_what_is_harmless() -> None:
    hidden = LINE.format(nature="trouble", pattern="loud", example="quiet loud")
    (told,) = wrong(HEAD + HARMLESS + hidden)
    assert "taken for harmless" in told


def test_without_examples_nobody_knows_that_it_matches() -> None:
    text = WHOLE.replace('examples = ["very loud"]', "examples = []")
    (told,) = wrong(text)
    assert "none is given" in told
    (told,) = wrong(WHOLE.replace('examples = ["very loud"]', "examples = [3]"))
    assert "text is wanted" in told


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("", "missing"),
        ("kernel_log = 2", "not known here"),
        ("kernel_log = [", ""),
        ('kernel_log = 1\nversion = "1"\nharmless = 3\ntrouble = []', "a list is wanted"),
        ("kernel_log = 1\nharmless = []\ntrouble = []", "missing"),
    ],
)
def test_what_is_no_list_of_lines_is_refused(text: str, what: str) -> None:
    assert any(what in told for told in wrong(text))


def test_a_profile_has_lines_of_its_own() -> None:
    demand = '[[demand]]\nclass = "clock"\npresent = true\nweight = "must"\n'
    head = 'profile = 1\nid = "x"\nrevision = "1"\ntitle = "X"\n'
    found = parse_profile("x.toml", (head + demand + HARMLESS).encode())
    assert isinstance(found, Profile)
    assert found.harmless == (LogRule(pattern="^quiet ", meaning="it means so"),)
    spoiled = parse_profile("x.toml", (head + demand + HARMLESS.replace("^quiet", "(")).encode())
    assert isinstance(spoiled, Mistakes)


def test_a_missing_or_spoiled_file_is_an_installation_that_is_not_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(kernel_log, "shipped_folder", lambda _: tmp_path)
    with pytest.raises(ShippedFileError, match="No such file"):
        load_log_rules()
    (tmp_path / "kernel-log").mkdir()
    (tmp_path / "kernel-log/lines.toml").write_text("kernel_log = 2\n", "utf-8")
    with pytest.raises(ShippedFileError, match="not known here"):
        load_log_rules()


def test_a_safe_pattern_has_no_fault() -> None:
    assert fault_of_line(r"\bata[0-9]{1,2}: .*failed") == ""
