"""The demo's evidence: captured in an emulator, and of that nothing is left in it to be read."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from check_source import WORDS
from closeout.check import ROUNDS, read_out
from closeout.cli.demo import ORDER_FILE, UNIT_FILE, demo_units
from closeout.kernel.evidence import Evidence
from closeout.kernel.evidence_file import encode_evidence
from closeout.kernel.failure import Reason
from closeout.kernel.header_line import encode_header
from closeout.kernel.record import Failure, Kind, Question
from closeout.kernel.recorded import RecordedTree, replay
from closeout.kernel.recorder import Recorder
from closeout.kernel.task import run_task
from closeout.model.reading import Unreadable
from notebook.renaming import PAIRS, rename_evidence, shipped_list
from strategies.surroundings import call_in

UNITS = {unit.folder.name: unit for unit in demo_units()}
ORDERS = Path(__file__).parent.parent / "notebook" / "work-orders"
LISTED = shipped_list()

NAMES = "|".join([*WORDS["real_makers"], *WORDS["virtual_machines"], "hwsim[0-9]*", "deb1[0-9]"])
FORBIDDEN = re.compile(rf"(?<![A-Za-z0-9])({NAMES})(?![A-Za-z0-9])", re.IGNORECASE)
VENDORS = "1b36|1af4|1234:1111|8086|10ec"
"""Of the emulator and of the chips that it plays."""
REAL_IDS = re.compile(
    rf"(?<![0-9A-Za-z])(?:0x)?(?:{VENDORS})(?![0-9A-Za-z])|v0000(?:{VENDORS})|0x1234\b"
    # its ACPI ids and tables, the maker in its EDID, its connector
    r"|QEMU|BOCHS|BXPC|\bRHT\b|\bWAET\b|Virtual-\d",
    re.IGNORECASE,
)
INVENTED_VENDOR = re.compile(r"fe[0-9a-f]{2}")
HEXADECIMAL = re.compile(r"[0-9a-f]{16,}")


each_unit = pytest.mark.parametrize("name", UNITS)


def forms_of(content: bytes) -> Iterator[str]:
    """An answer's bytes as every text that may be hidden in them."""
    yield content.decode("latin-1")
    for start in (0, 1):  # UTF-16 may begin at an odd place; ATA has the bytes of each word swapped
        even = content[start : start + (len(content) - start) // 2 * 2]
        yield even.decode("utf-16-le", "replace")
        yield even.decode("utf-16-be", "replace")
        yield b"".join(bytes(pair) for pair in zip(even[1::2], even[::2], strict=True)).decode(
            "latin-1"
        )
    for digits in HEXADECIMAL.findall(content.decode("latin-1")):
        yield bytes.fromhex(digits[: len(digits) // 2 * 2]).decode("latin-1")


def pairs_in(evidence: Evidence) -> Iterator[tuple[Question, str]]:
    """The PCI ids that the kernel shows in halves, whole."""
    answers = {record.question: record.answer for record in evidence.records}
    for question, answer in answers.items():
        folder, _, name = question.text.rpartition("/")
        other = answers.get(Question(kind=Kind.READ, text=f"{folder}/{PAIRS.get(name)}"))
        if name in PAIRS and isinstance(answer, bytes) and isinstance(other, bytes):
            halves = (half.decode().strip().removeprefix("0x") for half in (answer, other))
            yield question, ":".join(halves)


def texts_in(evidence: Evidence) -> Iterator[tuple[str, str]]:
    """Every text of the evidence, with the question that it belongs to."""
    yield "header", encode_header(evidence.header)
    for record in evidence.records:
        place = record.question.text
        yield place, place
        match record.answer:
            case bytes(content):
                yield from ((place, form) for form in forms_of(content))
            case str(target):
                yield place, target
            case tuple(names):
                yield from ((place, name) for name in names)
            case Failure():
                pass
    for question, ids in pairs_in(evidence):
        yield question.text, ids


def found_in(texts: Iterator[tuple[str, str]]) -> list[tuple[str, str]]:
    exempt = {exempt.name for exempt in LISTED.exempt}
    return [
        (place, found[0])
        for place, text in texts
        for pattern in (FORBIDDEN, REAL_IDS)
        for found in pattern.finditer(text)
        if found[0] not in exempt
    ]


@each_unit
def test_nothing_real_and_nothing_of_the_emulator_is_left(name: str) -> None:
    assert found_in(texts_in(UNITS[name].evidence())) == []


@pytest.mark.parametrize(
    "content",
    [
        b"made by QEMU\n",
        "a Dell".encode("utf-16-le"),
        b"x" + "a Dell".encode("utf-16-be"),
        b"eDll ",
        b"xeDll  ",
        b"nvme-" + b"a QEMU drive".hex().encode(),
        b"0x8086\n",
        b"pci:v00001B36d0010",
        b"sys/devices/virtual/mac80211_hwsim/hwsim0",
    ],
)
def test_the_search_finds_what_is_hidden(content: bytes) -> None:
    assert found_in(("place", form) for form in forms_of(content))


@each_unit
def test_the_report_names_nothing_real(name: str, tmp_path: Path) -> None:
    unit = UNITS[name].folder
    told = call_in(
        *(tmp_path, "check", "--out", "out"),
        *("--evidence", unit / UNIT_FILE, "--work-order", unit / ORDER_FILE),
    )
    (report,) = (tmp_path / "out").glob("*/attempt-0001-*")
    texts = [
        told.out,
        *((report / file).read_text("utf-8") for file in ("report.json", "report.html")),
    ]
    assert all(len(text) > 100 for text in texts)
    assert found_in((name, text) for text in texts) == []


@each_unit
def test_vendors_are_invented_or_exempt(name: str) -> None:
    exempt = {exempt.name for exempt in LISTED.exempt}
    vendors = set()
    for record in UNITS[name].evidence().records:
        answer, text = record.answer, record.question.text
        if text.endswith(("/vendor", "/subsystem_vendor", "/idVendor")) and isinstance(
            answer, bytes
        ):
            vendors.add(answer.decode().strip().removeprefix("0x"))
        if text.startswith("names "):
            vendors.add(text.split()[2].partition(":")[0])
    assert len(vendors) > 3
    assert {vendor for vendor in vendors if not INVENTED_VENDOR.fullmatch(vendor)} <= exempt


@each_unit
def test_drivers_are_invented_or_exempt(name: str) -> None:
    allowed = {exempt.name for exempt in LISTED.exempt}
    allowed |= {each.shipped for each in LISTED.substitutions}
    drivers = {
        record.answer.rpartition("/")[2]
        for record in UNITS[name].evidence().records
        if record.question.text.endswith("/driver") and isinstance(record.answer, str)
    }
    assert len(drivers) > 5
    assert drivers <= allowed


def test_every_entry_of_the_list_is_in_use() -> None:
    shipped = {
        name: [text for _, text in texts_in(unit.evidence())] for name, unit in UNITS.items()
    }
    everywhere = "\n".join(text for texts in shipped.values() for text in texts)
    for each in LISTED.substitutions:
        assert each.shipped in everywhere, each
        assert each.captured not in everywhere, each
    for exempt in LISTED.exempt:
        assert re.search(rf"(?<![A-Za-z0-9]){exempt.name}(?![A-Za-z0-9])", everywhere), exempt
    for name, unit in LISTED.units.items():
        own = "\n".join(shipped[name])
        assert all(each.shipped in own for each in unit.substitutions)
        assert all(field.text in own for field in unit.fields)


def test_the_list_knows_every_unit_and_each_has_the_order_of_its_notebook() -> None:
    assert set(LISTED.units) == set(UNITS)
    for name, unit in LISTED.units.items():
        order = (ORDERS / f"{unit.notebook}.toml").read_bytes()
        assert (UNITS[name].folder / ORDER_FILE).read_bytes() == order


@each_unit
def test_a_unit_that_is_renamed_stays_as_it_is(name: str) -> None:
    evidence = UNITS[name].evidence()
    assert rename_evidence(evidence, name) == evidence
    assert encode_evidence(evidence) == (UNITS[name].folder / UNIT_FILE).read_bytes()


@each_unit
def test_a_unit_answers_every_question_of_todays_readers_and_no_other(name: str) -> None:
    """Asked as a machine is asked: what nobody asked when it was captured has no answer."""
    evidence = UNITS[name].evidence()
    recorder = Recorder(replay(evidence), clock=lambda: 0)
    for next_tasks in ROUNDS:
        for task in next_tasks(RecordedTree(recorder.journal)):
            run_task(task, recorder)
    never_asked = [
        question.text
        for question, record in recorder.journal.items()
        if isinstance(record.answer, Failure) and record.answer.reason is Reason.NOT_RECORDED
    ]
    again = "run `make demo-units`"
    assert never_asked == [], again
    assert set(recorder.journal) == {record.question for record in evidence.records}, again


@each_unit
def test_every_class_of_device_could_be_listed(name: str) -> None:
    inventory = read_out(UNITS[name].evidence()).inventory
    assert [s.kind for s in inventory.sections if isinstance(s.listing, Unreadable)] == []
