"""Placeholder words and template names: texts that say nothing or only restate their field."""

import re
from collections.abc import Iterator
from typing import Final

from closeout.decode.filler_text import FieldText, Kind

SCOPES: Final = frozenset(
    """
    a1 a2 array asset bank base baseboard batt battery bios board box card case channel chassis
    computer cpu desktop dev device dimm dmi enclosure laptop mainboard mb memory mem mod module
    motherboard mb nb notebook odm oem package pc pcb platform power processor proc psu sbds slot
    smbios socket sodimm supply sys system tablet type unit
    """.split()  # noqa: SIM905 - a word list reads better as prose
)
"""Words for the thing that a field describes."""

ROLES: Final = frozenset(
    """
    assettag chem chemistry code date define defined family id identifier location maker
    manufacture manufacturer manufacturers manuf mfg mfgr mfr model modelname name no num number
    part partno pn product productname rev revision sernum serial serialno serialnumber sku sn
    string strings tag value vendor ver version
    """.split()  # noqa: SIM905 - a word list reads better as prose
)
"""Words for what a field tells about that thing."""

COUNTED_ROLES: Final = frozenset(
    "model family product location rev revision ver version type id code part value sku".split()  # noqa: SIM905
)
"""Roles that real values carry with a number behind: `Version 1.0`, `Family 17`."""

NOTHING: Final = frozenset(
    """
    absent blank blanks default defaults dummy empty example fake inject invalid missing nil none
    nothing nul null placeholder reserved sample tba tbd tbc temp template test unassigned
    unavailable undefine undefined uninitialized unknow unknown unpopulated unprogrammed unset
    unspecified void
    """.split()  # noqa: SIM905 - a word list reads better as prose
)
"""Words that say that there is nothing to say."""

GLUE: Final = frozenset("by be to the of for is and or in more please fill filled".split())  # noqa: SIM905
VERBS: Final = (
    "applicable applied assigned available completed configured connected defined detected "
    "determined entered filled found implemented initialized installed known populated present "
    "programmed provided recorded set settable specified supplied supported used valid written"
).split()

PHRASES: Final = (
    "tobefilledbyoem",
    "tobedefinedbyoem",
    "tobesetbyoem",
    "tobedetermined",
    "filledbyoem",
    "defaultstring",
    "defaultvalue",
    "undefined",
    "unspecified",
    "unavailable",
    "unknown",
    "placeholder",
    *(f"not{verb}" for verb in VERBS),
)
CARRIERS: Final = (
    "tobefilled",
    "filledbyo",
    "defaultstring",
    "notapplicable",
    "notavailable",
    "notspecified",
    "notdefined",
)
"""Phrases that make a text filler wherever in it they stand."""

TO_BE_BY: Final = re.compile(r"tobe[a-z]{2,12}by(?:the)?(?:oem|odm|manufacturer|vendor|user)")
HEX_CODE: Final = re.compile(r"(?:0x)?[0-9a-f]{1,8}")
PIECE: Final = re.compile(r"[^\W\d_]+|\d+")
LONGEST_WORD: Final = max(map(len, SCOPES | ROLES | NOTHING | GLUE))
VOCABULARY: Final = SCOPES | ROLES | NOTHING | GLUE


def distance_at_most(first: str, second: str, limit: int) -> bool:
    """Whether two short texts differ by at most `limit` letters added, lost, changed or swapped.

    Optimal string alignment distance (Damerau 1964).
    """
    if abs(len(first) - len(second)) > limit:
        return False
    before: list[int] = []
    row = list(range(len(second) + 1))
    for i, letter in enumerate(first, 1):
        earlier, before, row = before, row, [i]
        for j, other in enumerate(second, 1):
            cost = min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (letter != other))
            if i > 1 and j > 1 and letter == second[j - 2] and first[i - 2] == other:
                cost = min(cost, earlier[j - 2] + 1)
            row.append(cost)
    return row[-1] <= limit


def split_word(word: str) -> tuple[str, ...] | None:
    """The vocabulary words that a run of letters is made of; None when it is not.

    One letter may stand at the end as an index: `dimmc` is `dimm` and `c`.
    """
    if len(word) == 1:
        return (word,)
    ways: list[tuple[str, ...] | None] = [()]
    for end in range(1, len(word) + 1):
        found: tuple[str, ...] | None = None
        for start in range(max(0, end - LONGEST_WORD), end):
            way = ways[start]
            piece = word[start:end]
            is_index = end == len(word) and start == end - 1 and start > 0
            if way is not None and (piece in VOCABULARY or is_index):
                found = (*way, piece)
                break
        ways.append(found)
    return ways[-1]


def words_of(text: FieldText) -> tuple[str, ...] | None:
    """The words and numbers of a text made of vocabulary words alone; None for any other."""
    words: list[str] = []
    for piece in pieces_of(text):
        if piece.isdecimal():
            words.append(piece)
            continue
        split = split_word(piece)
        if split is None:
            return None
        words.extend(split)
    return tuple(words)


def pieces_of(text: FieldText) -> Iterator[str]:
    """Runs of letters and runs of digits, with `o.e.m` and `n/a` put together."""
    joined = text.trimmed.replace("o.e.m", "oem").replace("o e m", "oem")
    return (match.group() for match in PIECE.finditer(joined))


def is_to_be_filled(text: FieldText) -> bool:
    """`To be filled by O.E.M.` and its relatives."""
    return TO_BE_BY.search(text.letters) is not None


def is_placeholder_phrase(text: FieldText) -> bool:
    """A known phrase, also misspelt, cut short or with something added."""
    letters = text.letters
    if any(phrase in letters for phrase in CARRIERS):
        return True
    if any(piece.isdecimal() and piece.strip("0") for piece in pieces_of(text)):
        return False
    return any(distance_at_most(letters, phrase, len(phrase) // 6) for phrase in PHRASES)


def is_cut_phrase(text: FieldText) -> bool:
    """The beginning of a known phrase: `Unde`, `Not Spec`."""
    letters = text.letters
    if len(letters) < 4 or letters != text.squeezed:
        return False
    shortest = 6 if letters.startswith("not") else 4
    return len(letters) >= shortest and any(phrase.startswith(letters) for phrase in PHRASES)


def is_not_applicable_mark(text: FieldText) -> bool:
    """`N/A`, `NA`, `n.a.`."""
    return text.squeezed in {"na", "nan"}


def says_nothing(text: FieldText) -> bool:
    """A word like `Unknown` or `None`, with nothing but field names and codes around it."""
    seen = False
    for chunk in text.chunks:
        if HEX_CODE.fullmatch(chunk):
            continue
        split = words_of(FieldText(kind=text.kind, structure="", trimmed=chunk))
        if split is None:
            return False
        seen = seen or any(word in NOTHING for word in split)
    return seen


def says_no_thing(text: FieldText) -> bool:
    """`NO DIMM`, `No Asset Tag`: the word no before the name of a thing or field."""
    words = words_of(text)
    if words is None or len(words) < 2 or "no" not in words[:-1]:
        return False
    return all(word in SCOPES | ROLES | NOTHING | {"information"} for word in words)


def is_spaces_described(text: FieldText) -> bool:
    """`48spaces`: a remark about spaces where spaces were meant."""
    return text.letters in {"space", "spaces"}


def is_oem(text: FieldText) -> bool:
    """`OEM`, alone or before the name of the thing."""
    words = words_of(text)
    if not words or not {"oem", "odm"} & set(words):
        return False
    return all(word in SCOPES for word in words)


def is_template_name(text: FieldText) -> bool:
    """The name of a field instead of its value: `System Product Name`, `Dimm1_PartNum`."""
    words = words_of(text)
    if not words:
        return False
    roles = [place for place, word in enumerate(words) if word in ROLES]
    numbers = [word for word in words if word.isdecimal()]
    if not roles or any(len(number) > 2 for number in numbers):
        return False
    last = words[-1]
    counted = last.isdecimal() or len(last) == 1
    if counted and words[roles[-1]] in COUNTED_ROLES:
        return words[roles[-1]] == "sku" and len(last) == 1
    return True


NAMED_LAST: Final = {
    Kind.SKU: ("sku", "skunumber", "skuno", "chassis"),
    Kind.SERIAL: ("serialnumber", "serial", "serialno"),
    Kind.TAG: ("assettag", "asset", "tag"),
    Kind.MAKER: ("manufacturer", "manufacture"),
    Kind.PART: ("partnumber", "partnum", "partno"),
    Kind.VERSION: ("version", "versionnumber"),
}


def ends_with_field_name(text: FieldText) -> bool:
    """No digit, and the field's own name at the end: `Notebook-SKU`."""
    endings = NAMED_LAST.get(text.kind, ())
    return text.letters == text.squeezed and text.letters.endswith(endings)


FORM_WORDS: Final = SCOPES | {"server", "tower", "workstation", "allinone"}


def is_thing_as_serial(text: FieldText) -> bool:
    """`CHASSIS`, `DESKTOP`: a word for the thing where its serial belongs."""
    serial = text.kind in {Kind.SERIAL, Kind.PACK_SERIAL, Kind.UUID}
    return serial and text.squeezed in FORM_WORDS
