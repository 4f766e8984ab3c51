"""The ACPI source: iasl makes a table of it, and ACPICA's interpreter says what the table tells."""

import re
import subprocess
import uuid
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from notebook import acpi_interpreter
from notebook.acpi_interpreter import DISPLAY, Evaluation, Returned, evaluate, page_filler
from notebook.acpi_source import (
    KERNEL_OPTIONS,
    AcpiSourceError,
    acpi_source,
    compile_acpi,
)
from notebook.acpi_text import quoted
from notebook.control_page import (
    STATES,
    ControlPage,
    Event,
    LiveBattery,
    control_page_of,
    encode,
    words,
)
from notebook.described_inputs import TouchpadLine
from notebook.described_parts import ChargeLimits
from notebook.description import (
    Adapter,
    Backlight,
    Battery,
    Fan,
    KeyboardLight,
    Lid,
    LightSensor,
    Notebook,
    Thermal,
    TypeC,
    load_notebook,
)
from oracles import iasl

pytestmark = [
    pytest.mark.oracle,
    pytest.mark.skipif(bool(iasl.reason_to_skip()), reason=iasl.reason_to_skip()),
    pytest.mark.skipif(
        bool(acpi_interpreter.reason_to_skip()), reason=acpi_interpreter.reason_to_skip()
    ),
]

FEN = load_notebook("fen-14")
MAIN = FEN.battery["main"]
UNKNOWN = 0xFFFF_FFFF
OTHER = replace(
    FEN,
    adapter=Adapter(online=False),
    lid=Lid(open=False),
    thermal=Thermal(celsius=-3.5, critical=95),
    fan=Fan(rpm=0),
    light_sensor=LightSensor(lux=7),
    backlight=Backlight(level=5),
    keyboard_light=KeyboardLight(level=0),
    touchpad_line=TouchpadLine(hid="FE310230"),
    type_c=TypeC(partner=False),
    battery={
        "main": replace(MAIN, maker="", model="", serial="", chemistry="LIP", state="charging"),
        "second": replace(MAIN, serial='9"\\x41', state="critical", rate_mw=7000, cycles=812),
        "empty": replace(MAIN, present=False),
    },
)
PARTS: dict[str, tuple[Callable[[Notebook], Notebook], tuple[str, ...]]] = {
    "batteries": (lambda whole: replace(whole, battery={}), ("BAT0", "PNP0C0A")),
    "charge limits": (lambda whole: replace(whole, charge_limits=None), ("WMLM", "PNP0C14")),
    "adapter": (lambda whole: replace(whole, adapter=None), ("AC0", "ACPI0003")),
    "lid": (lambda whole: replace(whole, lid=None), ("LID0", "PNP0C0D")),
    "thermal": (lambda whole: replace(whole, thermal=None), ("THM0", "_TMP")),
    "fan": (lambda whole: replace(whole, fan=None), ("FAN0", "PNP0C0B")),
    "light sensor": (lambda whole: replace(whole, light_sensor=None), ("ALSD", "ACPI0008")),
    "backlight": (lambda whole: replace(whole, backlight=None), ("PCI0.S08", "_BCL")),
    "keyboard light": (lambda whole: replace(whole, keyboard_light=None), ("KBLT", "GOOG0002")),
    "Type-C": (lambda whole: replace(whole, type_c=None), ("UBTC", "PNP0CA0", "UCCI")),
}
NOTIFIED = {
    Event.LID: {("LID0", 0x80)},
    Event.ADAPTER: {("AC0", 0x80)},
    Event.BATTERY_STATE: {("BAT0", 0x80), ("BAT1", 0x80), ("BAT2", 0x80)},
    Event.BATTERY_INFO: {("BAT0", 0x81), ("BAT1", 0x81), ("BAT2", 0x81)},
    Event.TYPE_C: {("UBTC", 0x80)},
    Event.LIGHT: {("ALSD", 0x80)},
    Event.POWER_BUTTON: {("PWRB", 0x80)},
    Event.SLEEP_BUTTON: {("SLPB", 0x80)},
}
TEXTS = st.text(st.characters(min_codepoint=0x20, max_codepoint=0x7E), max_size=20)
NUMBERS = st.integers(0, UNKNOWN)
BATTERIES = st.builds(
    Battery,
    maker=TEXTS,
    model=TEXTS,
    serial=TEXTS,
    chemistry=TEXTS,
    design_mwh=NUMBERS,
    full_mwh=NUMBERS,
    remaining_mwh=NUMBERS,
    rate_mw=NUMBERS,
    millivolts=NUMBERS,
    design_millivolts=NUMBERS,
    cycles=NUMBERS,
    state=st.sampled_from(list(STATES)),
    present=st.booleans(),
)


@pytest.mark.parametrize("described", [FEN, OTHER], ids=["fen-14", "other"])
def test_each_device_tells_what_is_described(described: Notebook, tmp_path: Path) -> None:
    assert _told(described, tmp_path) == _expected(described, control_page_of(described))


@pytest.mark.parametrize("is_on", [True, False], ids=["on", "off"])
def test_the_control_page_overrules_what_was_built_in(is_on: bool, tmp_path: Path) -> None:  # noqa: FBT001 - pytest hands it over by name
    page = ControlPage(
        online=is_on,
        lid_open=is_on,
        partner=is_on,
        decikelvin=3333,
        rpm=0x1234_5678,
        lux=0xFFFF,
        batteries=tuple(_battery_now(number) for number in range(len(OTHER.battery))),
    )
    assert _told(OTHER, tmp_path, page) == _expected(OTHER, page)


@pytest.mark.parametrize("part", PARTS)
def test_a_part_left_out_leaves_nothing_behind(part: str, tmp_path: Path) -> None:
    leave_out, _ = PARTS[part]
    listing = _disassembled(leave_out(FEN), tmp_path)
    for name, (_, traces) in PARTS.items():
        for trace in traces:
            assert (trace in listing) == (name != part), trace


def test_without_any_part_there_are_two_buttons_and_the_usb_ports(tmp_path: Path) -> None:
    bare = FEN
    for leave_out, _ in PARTS.values():
        bare = leave_out(bare)
    devices = re.findall(r"(?:Device|ThermalZone) \((\S+)\)", _disassembled(bare, tmp_path))
    assert [name for name in devices if not re.fullmatch("RHUB|[HS]S..", name)] == ["PWRB", "SLPB"]


def test_the_disassembly_holds_texts_and_numbers(tmp_path: Path) -> None:
    listing = _disassembled(FEN, tmp_path)
    for trace in ('"VT-52-3"', '"VT0931"', '"LION"', '"Voltarn"', "0xCB20", "0xBFCC", "0x9970"):
        assert trace in listing
    assert '"SSDT", 2, "CLSOUT", "NOTEBOOK", 0x00000001' in listing


@pytest.mark.parametrize("event", Event)
def test_a_new_page_raises_its_event(event: Event, tmp_path: Path) -> None:
    page = replace(control_page_of(OTHER), notify=event)
    assert _evaluated(OTHER, tmp_path, page, ("\\_SB.AC0._PSR",)).notified == NOTIFIED[event]


def test_a_page_is_taken_when_something_is_read(tmp_path: Path) -> None:
    methods = ("\\_SB.SEEN", "\\_SB.AC0._PSR", "\\_SB.SEEN")
    seen = _evaluated(FEN, tmp_path, control_page_of(FEN), methods)
    assert seen.returned == ((0,), (1,), (1,))
    assert not seen.notified


def test_words_stand_where_the_layout_says(tmp_path: Path) -> None:
    listing = _disassembled(OTHER, tmp_path)
    block = re.search(r"Field \(CTLP[^{]*\{(.*?)\}", listing, re.DOTALL)
    assert block
    position, found = 0, {}
    entry = re.compile(r"Offset \((0x\w+|Zero)\)|(\w{4}),\s+(\d+)|,\s+(\d+)")
    for offset, name, bits, gap in entry.findall(block[1]):
        if offset:
            position = 8 * int(offset, 16)
        elif name:
            found[name] = (position, int(bits))
        position += int(bits or gap or 0)
    assert found == {word.name: (8 * word.offset, 8 * word.width) for word in words(3)}


@settings(max_examples=8, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(BATTERIES, min_size=1, max_size=4))
def test_any_batteries(tmp_path: Path, packs: list[Battery]) -> None:
    drawn = replace(FEN, battery={str(number): pack for number, pack in enumerate(packs)})
    table = compile_acpi(acpi_source(drawn), tmp_path).read_bytes()
    for pack in packs:
        texts = (pack.model, pack.serial, pack.chemistry, pack.maker)
        assert b"".join(b"\x0d" + text.encode() + b"\0" for text in texts) in table


def test_a_text_that_acpi_cannot_tell_is_refused() -> None:
    for text in ("Müller", "a\nb", "\0"):
        with pytest.raises(ValueError, match="printable ASCII"):
            quoted(text)


def test_a_fifth_battery_is_refused() -> None:
    many = replace(FEN, battery={str(number): MAIN for number in range(5)})
    with pytest.raises(ValueError, match="battery 5: the control page has 4 bays"):
        acpi_source(many)


@pytest.mark.parametrize(
    ("mistake", "said"),
    [
        ("Name (ABC, 1", "syntax error"),
        ("Method (ABCD, 0) { Local0 = 1 Return (Local1) }", "not initialized"),
    ],
    ids=["error", "warning"],
)
def test_what_iasl_finds_is_told(mistake: str, said: str, tmp_path: Path) -> None:
    source = f'DefinitionBlock ("", "SSDT", 2, "CLSOUT", "WRONG", 1) {{ {mistake} }}'
    with pytest.raises(AcpiSourceError, match=said):
        compile_acpi(source, tmp_path)


def test_the_kernel_keeps_off_the_page() -> None:
    assert "memmap=64K$0x10000000" in KERNEL_OPTIONS


def _told(
    described: Notebook, folder: Path, page: ControlPage | None = None
) -> dict[str, Returned]:
    methods = tuple(_expected(described, control_page_of(described)))
    told = _evaluated(described, folder, page, methods)
    return dict(zip(methods, told.returned, strict=True))


def _evaluated(
    described: Notebook, folder: Path, page: ControlPage | None, methods: tuple[str, ...]
) -> Evaluation:
    tables = [_table(DISPLAY, folder, "display"), _table(acpi_source(described), folder, "nb")]
    if page is None:
        return evaluate(tables, methods)
    tables.append(_table(page_filler(encode(page)), folder, "filler"))
    told = evaluate(tables, ("\\FILL", *methods))
    assert told.returned[0] == (1,)
    return replace(told, returned=told.returned[1:])


def _table(source: str, folder: Path, name: str) -> Path:
    place = folder / name
    place.mkdir(exist_ok=True)
    return compile_acpi(source, place)


def _disassembled(described: Notebook, folder: Path) -> str:
    table = compile_acpi(acpi_source(described), folder)
    listing = folder / "listing"
    subprocess.run(["iasl", "-p", str(listing), "-d", str(table)], check=True, capture_output=True)
    return listing.with_suffix(".dsl").read_text(encoding="latin-1")


def _battery_now(number: int) -> LiveBattery:
    return LiveBattery(
        present=number != 1,
        state=number,
        rate_mw=1000 + number,
        remaining_mwh=20_000 + number,
        millivolts=11_000 + number,
        design_mwh=60_000 + number,
        full_mwh=50_000 + number,
        cycles=300 + number,
    )


def _expected(built: Notebook, page: ControlPage) -> dict[str, Returned]:
    """What each method returns of a whole notebook that was built like that and is like this."""
    assert built.backlight
    assert built.keyboard_light
    assert built.thermal
    told: dict[str, Returned] = {
        "\\_SB.AC0._PSR": (int(page.online),),
        "\\_SB.LID0._LID": (int(page.lid_open),),
        "\\_SB.ALSD._ALI": (page.lux,),
        "\\_SB.FAN0._FST": (0, 1, page.rpm),
        "\\_SB.KBLT.KBQC": (built.keyboard_light.level,),
        "\\_SB.PCI0.S08.LCD0._BQC": (built.backlight.level,),
        "\\_SB.UBTC.PART": (int(page.partner),),
        "\\_TZ.THM0._TMP": (page.decikelvin,),
        "\\_TZ.THM0._CRT": (2732 + round(10 * built.thermal.critical),),
    }
    bays = zip(built.battery.values(), page.batteries, strict=True)
    for number, (pack, now) in enumerate(bays):
        told |= _expected_of_bay(f"\\_SB.BAT{number}", pack, now)
    return told


def test_the_charge_limits_are_the_last_two_bytes_that_are_not_zero(tmp_path: Path) -> None:
    """drivers/platform/x86/huawei-wmi.c: 260 bytes, the status of the call at 4."""
    described = replace(FEN, charge_limits=ChargeLimits(start=40, end=75))
    table = _table(acpi_source(described), tmp_path, "limits").read_bytes()
    assert bytes([0, 0, 0, 0, 0, 40, 75]) in table
    method = uuid.UUID("ABBC0F5B-8EA1-11D1-A000-C90629100000")
    assert method.bytes_le + b"AA\x01\x02" in table


def _expected_of_bay(path: str, pack: Battery, now: LiveBattery) -> dict[str, Returned]:
    capacities = (now.design_mwh, now.full_mwh, 1, pack.design_millivolts)
    warnings = (pack.design_mwh // 10, pack.design_mwh // 20)
    means = (95_000, 1000, 500, UNKNOWN, UNKNOWN, 10, 10)
    texts = (pack.model, pack.serial, pack.chemistry, pack.maker)
    return {
        f"{path}._STA": (0x1F if now.present else 0x0F,),
        f"{path}._BIX": (0, 0, *capacities, *warnings, now.cycles, *means, *texts),
        f"{path}._BST": (now.state, now.rate_mw, now.remaining_mwh, now.millivolts),
    }
