"""The words for people: an entry for every rule there can be, and none for any other."""

import re
from pathlib import Path

import pytest

from closeout.expect.catalogue import (
    catalogue_source,
    findings_file,
    load_catalogue,
    parse_catalogue,
    rules_of,
)
from closeout.expect.mistake import Mistakes
from closeout.expect.shipped import ShippedFileError
from closeout.model.catalogue import Catalogue, Entry
from closeout.model.inventory import KINDS

RULES = [f"{kind}.{rule}" for kind in KINDS for rule in rules_of(kind)]
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
    text = findings_file().read_text(encoding="utf-8")
    assert set(re.findall(r"(?<=[a-z,] )[A-Z][a-z]+", text)) <= known


def test_source_names_version_and_digest() -> None:
    source = catalogue_source(load_catalogue())
    assert source.revision == load_catalogue().version
    assert len(source.digest) == 64


def spoil(old: str, new: str) -> list[str]:
    text = findings_file().read_text(encoding="utf-8")
    assert old in text
    outcome = parse_catalogue("f.toml", text.replace(old, new, 1).encode())
    assert isinstance(outcome, Mistakes)
    return outcome.show().split("\n")


@pytest.mark.parametrize(
    ("old", "new", "wrong"),
    [
        ("[wifi.presence]", "[wifi.presense]", "wifi.presense: no such key"),
        ("[wifi.presence]", "[wifi.presense]", "wifi.presence: missing"),
        ("[wifi]", "[wify]", "wify: no such key; allowed"),
        ("retired = []", 'retired = ["wifi.mac"]', "retired[1]: this id is in use again"),
        ('title = "Wireless module"', 'titel = "x"', "wifi.presence.titel: no such key"),
        ('title = "Wireless module"', "", "wifi.presence.title: missing"),
        ('title = "Wireless module"', 'title = ""', "wifi.presence.title: text is wanted"),
        (
            'question = "Does the unit list wireless',
            'caution = "',
            "wifi.presence.question: missing",
        ),
        ("version =", "version == ", "not valid TOML"),
        ("catalogue = 1", "catalogue = 2", "catalogue: format 2 is not known here"),
    ],
)
def test_mistake(old: str, new: str, wrong: str) -> None:
    assert any(wrong in line for line in spoil(old, new)), spoil(old, new)


def test_own_words_of_a_rule_go_before_those_of_its_class() -> None:
    text = 'catalogue = 1\nversion = "1"\nretired = []\n'
    for kind in KINDS:
        text += f'[{kind}]\nmeaning = "M."\nimpact = "I."\nadvice = "A."\nanswerable = false\n'
        text += "".join(f'[{kind}.{rule}]\ntitle = "{rule}"\n' for rule in rules_of(kind))
    text = text.replace('title = "mac"', 'title = "mac"\nadvice = "Own."')
    outcome = parse_catalogue("f", text.encode())
    assert isinstance(outcome, Catalogue), outcome.show()
    assert outcome.entries["wifi.mac"] == Entry(
        title="mac",
        meaning="M.",
        impact="I.",
        advice="Own.",
        caution="",
        question="",
        answerable=False,
    )


def test_rule_that_is_no_table() -> None:
    outcome = parse_catalogue("f", b'catalogue = 1\nwifi = {mac = "x"}\n')
    assert isinstance(outcome, Mistakes)
    assert "f:2: wifi.mac: a table is wanted" in outcome.show()


def test_spoilt_installation_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "findings.toml"
    file.write_text("catalogue = 1\n", encoding="utf-8")
    monkeypatch.setattr("closeout.expect.catalogue.findings_file", lambda: file)
    with pytest.raises(ShippedFileError, match=r"not whole: findings\.toml:1: version: missing"):
        load_catalogue()


def test_retired_id_that_is_not_used_is_kept() -> None:
    text = findings_file().read_text(encoding="utf-8")
    kept = text.replace("retired = []", 'retired = ["wifi.antenna"]')
    assert isinstance(parse_catalogue("f", kept.encode()), Catalogue)
