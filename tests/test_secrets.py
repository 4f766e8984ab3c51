"""A planted licence key, sought in everything that any command writes, says or leaves behind."""

import base64
import gzip
import hashlib
import hmac
import json
import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from itertools import chain
from pathlib import Path

import pytest

from strategies import smbios
from strategies.edid import EdidPlan, build_edid
from strategies.fen import HEALTHY
from strategies.laid_out import healthy
from strategies.msdm import MsdmPlan, build_msdm
from strategies.notebook import SUPPLIES, UsbPlan, table_of
from strategies.surroundings import Told, call_in

KEY = "BCDFG-HJKMP-QRTVW-XY234-6789N"
LAST_FIVE = b"6789N"
SECRET = b"the secret of one depot"
TABLE = build_msdm(MsdmPlan(key=KEY.encode()))
STRUCTURES = table_of(HEALTHY).replace(b"region=EU\0", f"licence {KEY}\0".encode())
FRONT_CAMERA = UsbPlan(
    port="1-6", ids="fe22:0c31", maker="Oculine", product=KEY, triple="0e/01/00", driver=None
)
COMMANDS = (
    "check",
    "check --json",
    "check --quiet",
    "check --redact",
    "check --redact --json",
    "show",
    "show --json",
    "capture",
)


def traces(key: str) -> Iterator[bytes]:
    """Every form in which the key could be found: with dashes and without, and each hidden group.

    As text and UTF-16, each as itself, in hex, in base64 at each alignment and as JSON spells it.
    The first and last characters of base64 depend on what stands beside the key, so they are left
    out.
    """
    for text in (key, key.replace("-", "")):
        for encoding in ("ascii", "utf-16-le", "utf-16-be"):
            plain = text.encode(encoding)
            yield plain
            yield plain.hex().encode()
            yield plain.hex().upper().encode()
            yield plain.hex(" ").encode()
            for alignment in range(3):
                yield base64.b64encode(b"\0" * alignment + plain)[4:-4]
    for encoding in ("utf-16-le", "utf-16-be"):  # as JSON spells its NULs
        yield json.dumps(key.encode(encoding).decode("ascii")).strip('"').encode()
    for group in key.split("-")[:-1]:
        yield group.encode()
        yield group.encode("utf-16-le")
        yield group.lower().encode()


TRACES = tuple(traces(KEY))


def found_in(content: bytes) -> list[bytes]:
    """The traces in the bytes, and in what they are when decompressed."""
    layers = [content]
    if content.startswith(b"\x1f\x8b"):
        layers.append(gzip.decompress(content))
    return [trace for trace in TRACES for layer in layers if trace in layer]


def left_behind(place: Path) -> dict[str, bytes]:
    """Everything in the folder but what was planted: names of files, and what is in them."""
    return {
        str(path.relative_to(place)): path.read_bytes() if path.is_file() else b""
        for path in place.rglob("*")
        if "planted" not in path.parts
    }


def assert_no_trace(told: Told, place: Path) -> None:
    """The key is neither said nor written."""
    assert found_in(told.raw) == []
    assert found_in(told.raw_errors) == []
    for name, content in left_behind(place).items():
        assert found_in(name.encode("utf-8", "surrogateescape")) == [], name
        assert found_in(content) == [], name


@pytest.fixture
def unit(tmp_path: Path) -> Path:
    """A notebook with the key in its licence table and wherever else a string can be."""
    root = healthy(
        tmp_path / "planted" / "unit",
        licence=TABLE,
        family=KEY,
        asset_tag=KEY,
        usb=(*HEALTHY.usb, FRONT_CAMERA),
        more={f"{SUPPLIES}/pack0/power_supply/BAT0/manufacturer": KEY.encode("utf-16-le")},
    )
    tables = root / "sys/firmware/dmi/tables"
    raw = STRUCTURES.replace(b"Slate\0", f"{KEY}\0".encode())
    (tables / "DMI").write_bytes(raw)
    entry = smbios.build_entry_point((3, 3), len(raw), 0x76000000)
    (tables / "smbios_entry_point").write_bytes(entry)
    return root


@pytest.fixture
def licensed(tmp_path: Path) -> Path:
    """A notebook with the key in its licence table alone."""
    return healthy(tmp_path / "planted" / "unit", licence=TABLE)


@pytest.mark.parametrize("trace", TRACES, ids=range(len(TRACES)))
def test_the_search_finds_every_trace(trace: bytes, tmp_path: Path) -> None:
    told = Told(code=0, raw=b"", raw_errors=b"")
    (tmp_path / "control").write_bytes(gzip.compress(b"before" + trace + b"behind"))
    with pytest.raises(AssertionError):
        assert_no_trace(told, tmp_path)
    (tmp_path / "control").unlink()
    assert_no_trace(told, tmp_path)
    for loud in (Told(code=0, raw=trace, raw_errors=b""), Told(code=0, raw=b"", raw_errors=trace)):
        with pytest.raises(AssertionError):
            assert_no_trace(loud, tmp_path)


@pytest.mark.parametrize("alignment", range(3))
def test_the_search_finds_base64_between_others(alignment: int) -> None:
    for text in (KEY, KEY.replace("-", "")):
        raw = b"abcdef"[: 3 + alignment] + text.encode() + b"xyz"
        assert found_in(base64.b64encode(raw))
        assert found_in(raw.hex().encode())
        assert found_in(text.encode("utf-16"))


def test_the_key_is_planted_and_read(unit: Path, tmp_path: Path) -> None:
    """What is not found below was there: its last characters are told in its stead."""
    planted = [path for path in unit.rglob("*") if path.is_file() and found_in(path.read_bytes())]
    assert len(planted) >= 5
    told = call_in(tmp_path, "show", "--root", unit)
    assert told.out.count("*****-*****-*****-*****-6789N") >= 4
    assert "key_token" in call_in(tmp_path, "show", "--root", unit, "--json").out


@pytest.mark.parametrize("secret", [(), ("--depot-secret", "planted/secret")])
@pytest.mark.parametrize("command", COMMANDS)
def test_no_command_lets_the_key_out(
    command: str,
    secret: tuple[str, ...],
    unit: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "planted" / "secret").write_bytes(SECRET)
    told = call_in(tmp_path, *command.split(), "--root", unit, *secret, terminal=True)
    assert (told.code, "error" in told.err) == (0, False)
    assert told.raw or command == "capture --quiet"
    if not command.startswith("show"):
        assert left_behind(tmp_path)
    assert_no_trace(told, tmp_path)


@pytest.mark.parametrize("command", ["check", "check --json", "show", "show --json"])
def test_nor_out_of_evidence_that_holds_it(command: str, unit: Path, tmp_path: Path) -> None:
    """Evidence made by hand, with the raw table and strings as an honest recorder never has."""
    call_in(tmp_path, "capture", "--root", unit, "-o", "kept.gz")
    lines = gzip.decompress((tmp_path / "kept.gz").read_bytes())
    smuggled = lines.replace(b"*****-*****-*****-*****-6789N", KEY.encode())
    assert found_in(smuggled)
    (tmp_path / "planted" / "smuggled.gz").write_bytes(gzip.compress(smuggled, mtime=0))
    told = call_in(tmp_path, *command.split(), "--evidence", tmp_path / "planted" / "smuggled.gz")
    assert told.code == 0
    assert_no_trace(told, tmp_path)


def test_decode_masks_the_key(tmp_path: Path) -> None:
    (tmp_path / "planted").mkdir()
    files = {
        "msdm": TABLE,
        "msdm ": TABLE[:60],
        "msdm  ": TABLE[:9] + b"\0" + TABLE[10:],
        "msdm   ": TABLE[8:],
        "smbios": smbios.build_entry_point((3, 3), len(STRUCTURES), 32).ljust(32, b"\0")
        + STRUCTURES,
        "edid": build_edid(EdidPlan(texts=(KEY[:13], KEY[13:26]))),
    }
    for kind, raw in files.items():
        file = tmp_path / "planted" / kind
        file.write_bytes(raw)
        told = call_in(tmp_path, "decode", kind.strip(), file)
        whole = [trace for trace in found_in(told.raw) if len(trace) > 10]
        assert whole == []
        if kind != "edid":  # its texts hold thirteen characters each, so never a key
            assert_no_trace(told, tmp_path)
    assert LAST_FIVE in call_in(tmp_path, "decode", "msdm", tmp_path / "planted" / "msdm").raw


def test_a_key_on_the_input_is_not_repeated(tmp_path: Path) -> None:
    lines = f"{KEY}\n{KEY}\t{KEY}\n{KEY}\t1.2\n{KEY} {KEY}\n".encode()
    for arguments in (("--order",), ("--field", "System/Serial Number"), ("--field", KEY)):
        assert_no_trace(call_in(tmp_path, "field", *arguments, stdin=lines), tmp_path)


ORDER = 'work_order = 1\norder = "{order}"\n[unit]\nserial = "{serial}"\n'


@pytest.mark.parametrize(
    "content",
    [
        ORDER.format(order="T-1", serial=KEY),
        ORDER.format(order=KEY, serial="NW83KD20"),
        ORDER.format(order="T-1", serial="NW83KD20") + f"# {KEY}\n",
        ORDER.format(order="T-1", serial="NW83KD20") + f'[firmware]\nlicence = "{KEY}"\n',
        ORDER.format(order="T-1", serial="NW83KD20") + f'"{KEY}" = 1\n',
        f"{KEY} = no toml",
    ],
)
def test_a_key_typed_into_an_order_goes_no_further(
    content: str, licensed: Path, tmp_path: Path
) -> None:
    file = tmp_path / "planted" / "order.toml"
    file.write_text(content)
    told = call_in(tmp_path, "check", "--root", licensed, "--work-order", file)
    assert (told.code, told.out) == (2, "")
    assert "order.toml" in told.err
    assert_no_trace(told, tmp_path)
    assert_no_trace(call_in(tmp_path, "profile", "lint", file), tmp_path)


@pytest.mark.parametrize("command", [*COMMANDS[:3], "show", "show --json", "capture"])
def test_with_the_depots_secret_not_even_the_last_characters(
    command: str, licensed: Path, tmp_path: Path
) -> None:
    (tmp_path / "planted" / "secret").write_bytes(SECRET + b"\n")
    secret = ("--depot-secret", tmp_path / "planted" / "secret")
    told = call_in(tmp_path, *command.split(), "--root", licensed, *secret)
    kept = list(chain((told.raw, told.raw_errors), left_behind(tmp_path).values()))
    kept += [gzip.decompress(one) for one in kept if one.startswith(b"\x1f\x8b")]
    assert not any(LAST_FIVE in one for one in kept)
    assert not any(LAST_FIVE.decode().encode("utf-16-le") in one for one in kept)
    token = hmac.digest(SECRET, KEY.encode(), hashlib.sha256).hex().encode()
    wide_enough = [one.replace(b"\n", b"").replace(b" ", b"") for one in kept]
    assert any(token in one for one in wide_enough)
    assert not any(SECRET in one for one in kept)


def test_without_a_secret_the_last_characters_are_the_token(licensed: Path, tmp_path: Path) -> None:
    told = call_in(tmp_path, "check", "--root", licensed, "--json")
    assert b'"6789N"' in told.raw


CRASHING = """
import os, resource, sys
_, hard = resource.getrlimit(resource.RLIMIT_CORE)
resource.setrlimit(resource.RLIMIT_CORE, (hard, hard))
from closeout.cli.main import call
from closeout.cli.surroundings import real_surroundings
from closeout.kernel.privacy import is_undumpable
assert not is_undumpable()
looks = []
def watch(event, arguments):
    if event == "open" and os.fsencode(str(arguments[0])).rstrip(b"'").endswith(b"MSDM"):
        looks.append(is_undumpable())
sys.addaudithook(watch)
assert call(sys.argv[1:], real_surroundings()) == 0
assert looks and all(looks), looks
assert is_undumpable()
os.abort()
"""


@pytest.mark.parametrize(
    "command", ["check --root U", "show --root U", "capture --root U", "decode msdm M"]
)
def test_a_crash_after_the_key_was_read_leaves_no_core(
    command: str, licensed: Path, tmp_path: Path
) -> None:
    """Undumpable before the first byte of the table is read, and when the process aborts."""
    table = licensed / "sys/firmware/acpi/tables/MSDM"
    places = {"U": str(licensed), "M": str(table)}
    arguments = [places.get(word, word) for word in command.split()]
    (tmp_path / "here").mkdir()
    with subprocess.Popen(
        [sys.executable, "-c", CRASHING, *arguments],
        cwd=tmp_path / "here",
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    ) as run:
        output, errors = run.communicate(timeout=60)
        code = run.returncode
    assert errors == b""
    assert code == -signal.SIGABRT
    kept = left_behind(tmp_path / "here")
    assert not [name for name in kept if "core" in name]
    assert_no_trace(Told(code=code, raw=output, raw_errors=errors), tmp_path / "here")


def test_the_dump_of_a_crash_is_not_made(licensed: Path, tmp_path: Path) -> None:
    """The kernel itself says in the wait status whether it dumped."""
    arguments = ("check", "--quiet", "--root", str(licensed), "--out", str(tmp_path / "out"))
    pid = os.posix_spawn(
        sys.executable,
        [sys.executable, "-c", CRASHING, *arguments],
        os.environ,
        file_actions=[(os.POSIX_SPAWN_OPEN, 1, os.devnull, os.O_WRONLY, 0)],
    )
    _, status = os.waitpid(pid, 0)
    assert os.WIFSIGNALED(status)
    assert not os.WCOREDUMP(status)
