"""The life of a unit in words, a line each."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, cast

from closeout.depot.facts import Row

SEALS: Final = {
    "intact": "sealed",
    "early": "sealed, and dated before the first day of the key: a clock was wrong",
    "unknown": "sealed with an unknown key",
}
DRAFT: Final = "draft"
KINDS: Final = {"unrun": "not checked", DRAFT: DRAFT}


def lines_of(life: dict[str, object]) -> Iterator[str]:
    """The life in words, a line each."""
    yield str(life["unit"])
    for board in cast("list[Row]", life["boards"]):
        yield f"  board {board['board']}: {board['first_day']} to {board['last_day']}"
    reports = cast("list[Row]", life["reports"])
    revised = {_attempt(one): one["revision"] for one in reports}
    for one in reports:
        yield f"  {one['day']}  order {one['work_order'] or 'none'}, {_name(one)}: {_outcome(one)}"
        if one["revision"] == revised[_attempt(one)]:
            yield from _lines_of_report(one)


def _attempt(one: Row) -> tuple[object, ...]:
    """What all revisions of an attempt have in common; the last of them has all that was said."""
    return tuple(one[name] for name in ("work_order", "kind", "attempt", "started_at", "station"))


def _lines_of_report(one: Row) -> Iterator[str]:
    yield f"    {_where(one)}"
    for each in cast("list[Row]", one["parts"]):
        done = "fitted" if each["is_fitted"] else "removed"
        yield f"    {done}: {_joined(each['kind'], each['part_number'], each['serial'])}"
    for each in cast("list[Row]", one["findings"]):
        head = f"{each['outcome']} ({each['weight']}) {each['label']}, {each['rule']}"
        yield f"    {head}: expected {each['expected']}, found {each['found']}"
        yield from _lines_of_saying(each)
    for each in cast("list[Row]", one["steps"]):
        yield f"    to do: {each['title']}: {each['action']}"
    for each in cast("list[Row]", one["revisions"]):
        yield f"    said afterwards by {each['by']}: {each['change']}"


def _lines_of_saying(each: Row) -> Iterator[str]:
    if each["answer"]:
        by = _joined(each["answer_by"], each["answer_reason"])
        yield f"      answered {each['answer']}: {by}"
    if each["is_conceded"]:
        yield f"      conceded: {_joined(each['concession_by'], each['concession_reason'])}"


def _name(one: Row) -> str:
    kind = str(one["kind"])
    number = "" if kind == DRAFT else f" {one['attempt']}"  # drafts are not counted
    revision = f", revision {one['revision']}" if cast("int", one["revision"]) > 1 else ""
    return f"{KINDS.get(kind, 'attempt')}{number}{revision}"


def _outcome(one: Row) -> str:
    return str(one["verdict"]) or _joined(one["why_unrun"], one["note"])


def _where(one: Row) -> str:
    """At which place, by whom, after which repairs, and whether that is proven."""
    told = (
        f"station {one['station'] or 'not told'}",
        f"by {one['operator'] or one['by'] or 'nobody named'}",
        f"model {one['model']}" if one["model"] else "",
        f"repairs {one['repairs']}" if one["repairs"] else "",
        SEALS.get(str(one["seal"]), "not sealed"),
    )
    return _joined(*told)


def _joined(*texts: object) -> str:
    return ", ".join(str(text) for text in texts if text)
