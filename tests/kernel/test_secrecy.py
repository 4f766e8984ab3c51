"""A planted licence key, sought in everything that is kept."""

import base64
import gzip
import hashlib
import hmac
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.licence_statement import StatedTable, decode_statement
from closeout.kernel.capture import Conditions, record_folder
from closeout.kernel.evidence import Evidence, Header, seal_journal
from closeout.kernel.evidence_file import decode_evidence, encode_evidence, encode_lines
from closeout.kernel.record import Answer, Kind, Question, Record
from closeout.kernel.secrecy import is_licence_path, mask_keys, mask_text, scrub, token_for
from closeout.kernel.task import Task
from closeout.kernel.tree import KernelTree
from closeout.model.moment import Moment
from strategies.msdm import MsdmPlan, build_msdm, faulty_plans, sound_keys

KEY = b"BCDFG-HJKMP-QRTVW-XY234-6789N"
MASKED = b"*****-*****-*****-*****-6789N"
TABLE = build_msdm(MsdmPlan(key=KEY))
MSDM = "sys/firmware/acpi/tables/MSDM"
MOMENT = Moment(text="2026-01-01T00:00:00Z", source="typed")


def forms(key: bytes) -> Iterator[bytes]:
    """The key as text and UTF-16, as itself, in hex and in base64 at each offset."""
    text = key.decode()
    for plain in (key, text.encode("utf-16-le"), text.encode("utf-16-be")):
        yield plain
        yield plain.hex().encode()
        yield plain.hex().upper().encode()
        for offset in range(3):
            # The first and last characters depend on what stands beside the key.
            yield base64.b64encode(b"\0" * offset + plain)[4:-4]


def assert_no_key(kept: bytes, key: bytes = KEY) -> None:
    for form in forms(key):
        assert form not in kept


def assert_no_key_in(evidence: Evidence, key: bytes = KEY) -> None:
    assert_no_key(encode_evidence(evidence), key)
    assert_no_key(encode_lines(evidence), key)


def test_the_search_finds_a_key_that_is_there() -> None:
    for form in forms(KEY):
        with pytest.raises(AssertionError):
            assert_no_key(b"before" + form + b"behind")


def plant(root: Path, key: bytes) -> list[str]:
    """A folder with the key in each kind of place; the paths of its files."""
    wide = key.decode().encode("utf-16-le")
    planted = {
        MSDM: build_msdm(MsdmPlan(key=key)),
        "sys/firmware/acpi/tables/dynamic/MSDM2": build_msdm(MsdmPlan(key=key)),
        "sys/firmware/acpi/tables/MSDM1": b"no table, but " + key,
        "sys/firmware/acpi/tables/SSDT": build_msdm(MsdmPlan(key=key)),
        "sys/firmware/dmi/tables/DMI": b"\x0b\x05\x01\x02\x01" + key + b"\0\0" + wide,
        "sys/odd": b"x" + key.decode().encode("utf-16-be") + b"\xff",
        f"sys/named/{key.decode()}": b"a file",
        "ask/spoken": b'{"text": "%b"}' % key,
    }
    for path, content in planted.items():
        (root / path).parent.mkdir(parents=True, exist_ok=True)
        (root / path).write_bytes(content)
    (root / "sys/link").symlink_to(f"named/{key.decode()}")
    return sorted(planted)


@pytest.mark.parametrize("secret", [None, b"depot"])
def test_a_planted_key_is_in_no_evidence(tmp_path: Path, secret: bytes | None) -> None:
    paths = plant(tmp_path, KEY)

    def ask(tree: KernelTree) -> None:
        for path in paths:
            tree.read(path)
        tree.names("sys/named")
        tree.target("sys/link")
        tree.ask("spoken")

    conditions = Conditions(agent="0", clock=lambda: 0, moment=lambda: MOMENT, secret=secret)
    evidence = record_folder(tmp_path, [lambda _: [Task(name="all", ask=ask)]], conditions)
    assert len(evidence.records) == len(paths) + 4
    assert_no_key_in(evidence)


@given(key=sound_keys(), plan=faulty_plans())
def test_evidence_made_by_hand_smuggles_no_key(key: bytes, plan: MsdmPlan) -> None:
    answers: dict[Question, Answer] = {
        Question(kind=Kind.READ, text=MSDM): build_msdm(plan) + key,
        Question(kind=Kind.READ, text="sys/copy"): build_msdm(MsdmPlan(key=key)),
        Question(kind=Kind.READ, text=f"sys/{key.decode()}"): b"",
        Question(kind=Kind.NAMES, text="sys"): (key.decode(),),
        Question(kind=Kind.TARGET, text="sys/link"): f"sys/{key.decode()}",
        Question(kind=Kind.ASK, text="spoken"): key,
    }
    journal = {
        question: Record(question=question, answer=answer, microseconds=0)
        for question, answer in answers.items()
    }
    smuggled = key.decode()
    header = Header(
        agent="0",
        source="folder",
        kernel=smuggled,
        started=MOMENT,
        finished=MOMENT,
        more={"later": [smuggled]},
    )
    raw = encode_evidence(seal_journal(header, journal))
    assert key in gzip.decompress(raw)
    assert_no_key_in(decode_evidence(raw), key)


def test_the_token_is_an_hmac_of_the_key() -> None:
    statement = decode_statement(scrub(MSDM, TABLE, b"depot"))
    assert isinstance(statement, StatedTable)
    expected = hmac.digest(b"depot", KEY, hashlib.sha256).hex()
    assert statement.key_token == f"hmac-sha256:{expected}"
    assert statement.checksum_good


def test_without_a_secret_the_token_is_the_end_of_the_key() -> None:
    statement = decode_statement(scrub(MSDM, TABLE, None))
    assert isinstance(statement, StatedTable)
    assert statement.key_token == "6789N"  # noqa: S105 - the end of an invented key


def test_tokens_differ_by_secret() -> None:
    assert token_for(KEY, b"one") != token_for(KEY, b"two")


@given(body=st.binary(max_size=100), path=st.sampled_from((MSDM, "sys/other")))
def test_what_is_scrubbed_stays_as_it_is(body: bytes, path: str) -> None:
    once = scrub(path, body, b"depot")
    assert scrub(path, once, None) == once


def test_a_statement_passes_a_second_time() -> None:
    once = scrub(MSDM, TABLE, b"depot")
    assert scrub(MSDM, once, b"another") == once


@pytest.mark.parametrize(
    "path",
    [
        "sys/firmware/acpi/tables/MSDM",
        "sys/firmware/acpi/tables/MSDM1",
        "sys/firmware/acpi/tables/dynamic/MSDM12",
        "sys/firmware/acpi/tables/data/MSDM",
        "acpi/tables/MSDM",
    ],
)
def test_licence_paths(path: str) -> None:
    assert is_licence_path(path)


@pytest.mark.parametrize(
    "path",
    ["sys/firmware/acpi/tables/SSDT1", "sys/firmware/acpi/tables/MSDM/uevent", "sys/MSDM", "MSDMx"],
)
def test_other_paths(path: str) -> None:
    assert not is_licence_path(path)


@given(before=st.binary(max_size=9), behind=st.binary(max_size=9), key=sound_keys())
def test_a_key_is_masked_wherever_it_stands(before: bytes, behind: bytes, key: bytes) -> None:
    for encoding in ("ascii", "utf-16-le", "utf-16-be"):
        body = before + key.decode().encode(encoding) + behind
        masked = mask_keys(body)
        assert len(masked) == len(body)
        assert_no_key(masked, key)
        assert ("*" * 5 + "-" + "*" * 5).encode(encoding) in masked


def test_the_last_group_stays_and_so_does_all_else() -> None:
    assert mask_keys(b"OEM " + KEY + b"\n") == b"OEM " + MASKED + b"\n"


def test_in_a_longer_chain_every_five_groups_are_found() -> None:
    assert mask_keys(b"AAAAA-" + KEY) == b"*****-*****-*****-*****-*****-6789N"


@pytest.mark.parametrize(
    "text",
    [
        b"XXXXX-XXXXX-XXXXX-XXXXX-XXXXX",
        b"03000200-0400-0500-0006-000700080009",
        b"ABCDE-FGHIJ-KLMNO-PQRST",
        b"PF2A-0001-2B",
        b"ABCDE_FGHIJ_KLMNO_PQRST_UVWXY",
    ],
)
def test_filler_uuids_and_serials_are_left_alone(text: bytes) -> None:
    assert mask_keys(text) == text


def test_text_with_undecodable_bytes_is_masked_too() -> None:
    assert mask_text("\udcff" + KEY.decode()) == "\udcff" + MASKED.decode()
    assert mask_text("\udcff-") == "\udcff-"
