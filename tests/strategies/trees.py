"""Drawn machines, and everything that is asked of them, recorded of them, or kept."""

import errno

from hypothesis import strategies as st

from closeout.kernel.evidence import Evidence, Header, seal_journal
from closeout.kernel.failure import Reason
from closeout.kernel.record import Answer, Failure, Kind, Question, Record
from closeout.kernel.regular import decode_name
from closeout.kernel.secrecy import scrub_record
from closeout.model.moment import Moment
from strategies.drawn_tree import DrawnTree

ERRNOS = sorted(errno.errorcode)
PLAIN_NAMES = ("BAT0", "status", "uevent", "sys", "a b", "new\nline", "100%", "é", "\U0001f50b")
MOST_MICROSECONDS = 2**53


def names() -> st.SearchStrategy[str]:
    """File names: usual ones, and any bytes that a file system takes."""
    wild = st.binary(min_size=1, max_size=12).map(decode_name)
    return st.sampled_from(PLAIN_NAMES) | wild.filter(is_file_name)


def is_file_name(name: str) -> bool:
    return name not in {"", ".", ".."} and "/" not in name and "\0" not in name


def paths() -> st.SearchStrategy[str]:
    """Paths from the root."""
    return st.lists(names(), min_size=1, max_size=4).map("/".join)


def contents() -> st.SearchStrategy[bytes]:
    """What files hold: text, nothing, noise."""
    return st.text(max_size=40).map(lambda text: text.encode("utf-8", "replace")) | st.binary(
        max_size=60
    )


def drawn_trees() -> st.SearchStrategy[DrawnTree]:
    """Machines with files that answer or fail, links and answers."""
    drawn = contents() | st.sampled_from(ERRNOS)
    return st.builds(
        DrawnTree,
        files=st.dictionaries(paths(), drawn, max_size=6),
        links=st.dictionaries(paths(), paths(), max_size=3),
        folders=st.lists(paths(), max_size=2).map(tuple),
        answers=st.dictionaries(st.text(max_size=20), drawn, max_size=2),
    )


def questions_about(tree: DrawnTree) -> list[Question]:
    """Every question that the tree has an answer to, and the same of its folders' folders."""
    places = {"", *tree.files, *tree.links, *tree.folders}
    places |= {path.rpartition("/")[0] for path in places}
    asked = [
        Question(kind=kind, text=place)
        for kind in (Kind.READ, Kind.NAMES, Kind.TARGET)
        for place in sorted(places)
    ]
    return asked + [Question(kind=Kind.ASK, text=text) for text in (*tree.answers, "unheard of")]


def questions() -> st.SearchStrategy[Question]:
    """Any question."""
    return st.builds(Question, kind=st.sampled_from(Kind), text=paths())


def failures() -> st.SearchStrategy[Failure]:
    """Any failure, errnos without a name among them."""
    numbers = st.sampled_from(ERRNOS) | st.integers(1, 4095)
    return st.builds(Failure, number=numbers, reason=st.sampled_from(Reason))


@st.composite
def records(draw: st.DrawFn) -> Record:
    """Any question with an answer of its kind, or a failure."""
    question = draw(questions())
    answers: dict[Kind, st.SearchStrategy[Answer]] = {
        Kind.READ: contents(),
        Kind.ASK: contents(),
        Kind.NAMES: st.lists(names(), max_size=4).map(lambda found: tuple(sorted(found))),
        Kind.TARGET: paths(),
    }
    return Record(
        question=question,
        answer=draw(answers[question.kind] | failures()),
        microseconds=draw(st.integers(0, MOST_MICROSECONDS)),
    )


def headers() -> st.SearchStrategy[Header]:
    """Any header, with what a later version may have put in."""
    text = st.text(st.characters(exclude_characters="\0", exclude_categories=["Cs"]), max_size=12)
    simple = st.booleans() | st.integers() | text | st.none()
    later = simple | st.lists(simple, max_size=2) | st.dictionaries(text, simple, max_size=2)
    return st.builds(
        Header,
        agent=text,
        source=st.sampled_from(("live", "folder")),
        kernel=text,
        started=st.builds(Moment, text=text, source=text),
        finished=st.builds(Moment, text=text, source=text),
        unfinished=st.lists(text, max_size=2).map(tuple),
        more=st.dictionaries(text.map("later {}".format), later, max_size=2),
    )


@st.composite
def evidences(draw: st.DrawFn) -> Evidence:
    """Any evidence that a recorder could have made: no licence table passes it unscrubbed."""
    drawn = [scrub_record(record, None) for record in draw(st.lists(records(), max_size=6))]
    return seal_journal(draw(headers()), {record.question: record for record in drawn})
