"""The words for people: an entry for every rule there can be, and none for any other."""

import re
from pathlib import Path
from shutil import copytree

import pytest

from closeout.expect.catalogue import (
    catalogue_source,
    findings_folder,
    load_catalogue,
    load_entries,
    parse_about,
    parse_rules,
    parse_unexpected,
    rules_of,
)
from closeout.expect.mistake import Mistakes
from closeout.expect.shipped import ShippedFileError
from closeout.model.catalogue import Entry
from closeout.model.inventory import KINDS
from closeout.model.part_demand import UNEXPECTED

RULES = [f"{kind}.{rule}" for kind in KINDS for rule in (*rules_of(kind), UNEXPECTED)]
ENTRIES = load_catalogue().entries
IDENTITY = ("system", "board", "chassis", "oem_strings", "identity_views", "licence")


def test_every_rule_has_an_entry_and_nothing_else_has() -> None:
    assert sorted(ENTRIES) == sorted(RULES)
    assert len(RULES) > 140


@pytest.mark.parametrize("rule", RULES)
def test_entry_is_in_sentences(rule: str) -> None:
    entry = ENTRIES[rule]
    assert entry.title[0].isupper()
    assert len(entry.title) <= 50
    assert not entry.title.endswith(".")
    for text in (entry.meaning, entry.impact, entry.advice, entry.caution):
        assert text == "" or (text[0].isupper() and text.endswith(".")), text
        assert "  " not in text
    assert all((entry.meaning, entry.impact, entry.advice))


@pytest.mark.parametrize("rule", RULES)
def test_question_is_answered_with_yes_when_all_is_well(rule: str) -> None:
    question = ENTRIES[rule].question
    assert question == "" or re.fullmatch(r"Does the [^?]+\?", question)
    assert " not " not in question


@pytest.mark.parametrize("rule", [rule for rule in RULES if rule.split(".")[0] in IDENTITY])
def test_no_person_answers_for_identity_or_licence(rule: str) -> None:
    assert not ENTRIES[rule].answerable


@pytest.mark.parametrize("rule", [rule for rule in RULES if rule.endswith((".serial", ".mac"))])
def test_no_person_answers_for_a_serial_number(rule: str) -> None:
    assert not ENTRIES[rule].answerable


@pytest.mark.parametrize("kind", ["battery", "drive", "display", "wifi", "memory_module"])
def test_person_can_answer_for_a_part(kind: str) -> None:
    assert ENTRIES[f"{kind}.presence"].answerable


def test_packs_are_handled_with_caution() -> None:
    for rule in rules_of("battery"):
        caution = ENTRIES[f"battery.{rule}"].caution
        assert "Lithium" in caution
        assert "local rules" in caution


def test_no_word_looks_like_a_maker_or_product() -> None:
    """A capital inside a sentence is a name; these few are not a maker's."""
    known = {"Wi", "Secure", "Boot", "Bluetooth"}
    texts = [path.read_text(encoding="utf-8") for path in findings_folder().glob("*.toml")]
    assert set(re.findall(r"(?<=[a-z,] )[A-Z][a-z]+", "".join(texts))) <= known


def test_source_names_version_and_digest() -> None:
    source = catalogue_source(load_catalogue())
    assert source.revision == load_catalogue().version
    assert len(source.digest) == 64


def test_each_class_has_its_file_and_no_file_is_nobodys() -> None:
    assert {path.name for path in findings_folder().iterdir()} == {
        "about.toml",
        "unexpected.toml",
        *(f"{kind}.toml" for kind in KINDS),
    }


def test_words_of_some_classes_alone() -> None:
    chosen = load_catalogue(["wifi"])
    assert set(chosen.entries) == {f"wifi.{rule}" for rule in (*rules_of("wifi"), UNEXPECTED)}
    assert catalogue_source(chosen) == catalogue_source(load_catalogue())


def spoil(file: str, old: str, new: str) -> list[str]:
    text = (findings_folder() / file).read_text(encoding="utf-8")
    assert old in text
    raw = text.replace(old, new, 1).encode()
    match file:
        case "about.toml":
            outcome: object = parse_about("f", raw)
        case "unexpected.toml":
            outcome = parse_unexpected("f", raw)
        case _:
            outcome = parse_rules("f", raw, file[:-5])
    assert isinstance(outcome, Mistakes)
    return outcome.show().split("\n")


@pytest.mark.parametrize(
    ("old", "new", "wrong"),
    [
        ("[presence]", "[presense]", "presense: no such key"),
        ("[presence]", "[presense]", "presence: missing"),
        ('title = "Wireless module"', 'titel = "x"', "presence.titel: no such key"),
        ('title = "Wireless module"', "", "presence.title: missing"),
        ('title = "Wireless module"', 'title = ""', "presence.title: text is wanted"),
        (
            'question = "Does the unit list wireless',
            'caution = "',
            "presence.question: missing",
        ),
        ("[presence]", "[presence", "not valid TOML"),
    ],
)
def test_mistake_in_the_file_of_a_class(old: str, new: str, wrong: str) -> None:
    assert any(wrong in line for line in spoil("wifi.toml", old, new))


@pytest.mark.parametrize(
    ("old", "new", "wrong"),
    [
        ("retired = []", 'retired = ["wifi.mac"]', "retired[1]: this id is in use again"),
        ("retired = []", "", "retired: missing"),
        ("version =", "version == ", "not valid TOML"),
        ("version =", "versoin =", "versoin: no such key"),
        ("catalogue = 1", "catalogue = 2", "catalogue: format 2 is not known here"),
    ],
)
def test_mistake_in_the_file_about_all(old: str, new: str, wrong: str) -> None:
    assert any(wrong in line for line in spoil("about.toml", old, new))


@pytest.mark.parametrize(
    ("old", "new", "wrong"),
    [
        ("impact =", "inpact =", "inpact: no such key"),
        ("impact =", "inpact =", "impact: missing"),
        ("impact =", "impact = 3 #", "impact: text is wanted"),
        ("impact =", "impact = [", "not valid TOML"),
    ],
)
def test_mistake_in_the_file_about_unexpected_parts(old: str, new: str, wrong: str) -> None:
    assert any(wrong in line for line in spoil("unexpected.toml", old, new))


def test_an_unexpected_part_is_called_and_handled_as_its_class() -> None:
    (presence, unexpected) = load_entries(["battery.unexpected"]).entries.values()
    assert unexpected.title == f"Unexpected: {presence.title}"
    assert (unexpected.caution, unexpected.answerable) == (presence.caution, True)
    assert unexpected.advice != presence.advice


def test_own_words_of_a_rule_go_before_those_of_its_class() -> None:
    text = 'meaning = "M."\nimpact = "I."\nadvice = "A."\nanswerable = false\n'
    text += "".join(f'[{rule}]\ntitle = "{rule}"\n' for rule in rules_of("wifi"))
    text = text.replace('title = "mac"', 'title = "mac"\nadvice = "Own."')
    outcome = parse_rules("f", text.encode(), "wifi")
    assert not isinstance(outcome, Mistakes), outcome.show()
    assert outcome["wifi.mac"] == Entry(
        title="mac",
        meaning="M.",
        impact="I.",
        advice="Own.",
        caution="",
        question="",
        answerable=False,
    )


def test_rule_that_is_no_table() -> None:
    outcome = parse_rules("f", b'\nmac = "x"\n', "wifi")
    assert isinstance(outcome, Mistakes)
    assert "f:2: mac: a table is wanted" in outcome.show()


@pytest.mark.parametrize(
    ("file", "wrong"),
    [
        ("about.toml", r"not whole: about\.toml:1: version: missing"),
        ("wifi.toml", r"not whole: wifi\.toml:1: catalogue: no such key"),
        ("unexpected.toml", r"not whole: unexpected\.toml:1: catalogue: no such key"),
    ],
)
def test_spoilt_installation_is_told(
    file: str, wrong: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "findings"
    copytree(findings_folder(), folder)
    monkeypatch.setattr("closeout.expect.catalogue.findings_folder", lambda: folder)
    (folder / file).write_text("catalogue = 1\n", encoding="utf-8")
    with pytest.raises(ShippedFileError, match=wrong):
        load_catalogue()
    (folder / file).unlink()
    with pytest.raises(ShippedFileError, match=rf"findings/{file}: No such file"):
        load_catalogue()


def test_retired_id_that_is_not_used_is_kept() -> None:
    text = (findings_folder() / "about.toml").read_text(encoding="utf-8")
    kept = text.replace("retired = []", 'retired = ["wifi.antenna"]')
    assert parse_about("f", kept.encode()) == "2026.1"
