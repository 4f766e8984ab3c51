"""The manual's page about findings, from the catalogue that the reports take their words from."""

from collections.abc import Iterator

from closeout.expect.catalogue import load_catalogue
from closeout.expect.repair_map import load_repair_map
from closeout.model.catalogue import Entry
from closeout.model.label_agreement import LABEL_ENTRY, LABEL_RULE
from closeout.model.part_demand import UNEXPECTED
from manual_page import code, page


def render_findings() -> str:
    """Every rule of the catalogue: meaning, impact, advice, and what a person is asked."""
    catalogue = load_catalogue()
    asked = load_repair_map().connections.values()
    explained = {
        **catalogue.entries,
        LABEL_RULE: LABEL_ENTRY,
        **{connection.rule: connection.entry() for connection in asked if connection.question},
    }
    alike = [rule for rule in explained if rule.endswith(f".{UNEXPECTED}")]
    entries = [
        part
        for rule, entry in explained.items()
        if rule not in alike
        for part in _entry(rule, entry)
    ]
    entries += _unexpected(catalogue.entries[alike[0]])
    introduction = f"Rules of version {catalogue.version}. An id is never used again."
    return page("Findings", introduction, *entries)


def _unexpected(entry: Entry) -> Iterator[str]:
    """The same for every class, so it stands once."""
    yield f"## {code(f'CLASS.{UNEXPECTED}')}"
    yield f"**{entry.title.partition(':')[0]} part of any class.** {entry.meaning}"
    yield f"*Impact:* {entry.impact}"
    yield f"*Advice:* {entry.advice}"
    yield "*Caution:* as for the presence of the class."
    yield f"*A person may answer*, where one may for the presence of the class: {entry.question}"


def _entry(rule: str, entry: Entry) -> Iterator[str]:
    yield f"## {code(rule)}"
    yield f"**{entry.title}.** {entry.meaning}"
    yield f"*Impact:* {entry.impact}"
    yield f"*Advice:* {entry.advice}"
    if entry.caution:
        yield f"*Caution:* {entry.caution}"
    if entry.answerable:
        yield f"*A person may answer:* {entry.question}"
