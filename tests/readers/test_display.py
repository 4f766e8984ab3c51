"""Connectors, the EDID behind each, and backlights, on drawn machines."""

import errno

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.model.device import Position
from closeout.model.display import Display
from closeout.model.reading import Absent, Blank, Reading, Unreadable, Value
from closeout.readers.display import READERS
from strategies.drawn_tree import Content, DrawnTree
from strategies.edid import EdidPlan, TimingPlan, build_edid, damaged_edids
from strategies.edid_extensions import (
    DisplayIdPlan,
    MarkedPlan,
    build_displayid,
    build_marked,
)

PLACE = "sys/devices/pci0000:00/0000:00:02.0/drm/card1/card1-eDP-1"
LINK = "sys/class/drm/card1-eDP-1"
EDID = f"{PLACE}/edid"
DISPLAYS, BACKLIGHTS = READERS

EDID_ATTRIBUTES = (
    "edid_valid",
    "edid_manufacturer",
    "edid_product",
    "edid_serial",
    "edid_serial_texts",
    "edid_names",
    "edid_extensions",
    "bits_per_colour",
    "native_mode",
    "native_mode_offered",
    "refresh_millihertz",
    "width_millimetres",
    "height_millimetres",
    "made",
)


def notebook(edid: Content, **files: Content) -> DrawnTree:
    drawn = {EDID: edid, f"{PLACE}/status": b"connected\n"}
    more = {f"{PLACE}/{name}": content for name, content in files.items()}
    return DrawnTree(files={**drawn, **more}, links={LINK: PLACE})


def read_panel(tree: DrawnTree) -> Display:
    listing = DISPLAYS.find(tree)
    assert isinstance(listing, Value)
    (place,) = listing.value
    found = DISPLAYS.read(tree, place)
    assert isinstance(found, Display)
    return found


def edid_readings(panel: Display) -> dict[str, Reading[object]]:
    return {name: getattr(panel, name) for name in EDID_ATTRIBUTES}


def told(value: object) -> Value[object]:
    return Value(value=value, sources=(EDID,))


def test_a_healthy_panel() -> None:
    panel = read_panel(notebook(build_edid(EdidPlan())))
    assert panel == Display(
        place=PLACE,
        label="eDP-1",
        position=Position.INTERNAL,
        connector=Value(value="eDP-1", sources=(PLACE,)),
        connected=Value(value=True, sources=(f"{PLACE}/status",)),
        edid_valid=told(value=True),
        edid_manufacturer=told("NRW"),
        edid_product=told(0x1234),
        edid_serial=told(1),
        edid_serial_texts=Blank(reason="the panel gives no serial number as text", sources=(EDID,)),
        edid_names=told(("NORWELL", "P140-01")),
        edid_extensions=told(()),
        bits_per_colour=told(8),
        native_mode=told("1920x1080"),
        native_mode_offered=Absent(
            reason="the kernel has no such file", sources=(f"{PLACE}/modes",)
        ),
        refresh_millihertz=told(59_934),
        width_millimetres=told(309),
        height_millimetres=told(174),
        made=told("2023, week 12"),
    )


def test_a_folder_with_nothing_but_an_edid() -> None:
    path = "sys/class/drm/card0-eDP-1/edid"
    panel = read_panel(DrawnTree(files={path: build_edid(EdidPlan())}))
    assert panel.place == "sys/class/drm/card0-eDP-1"
    assert isinstance(panel.connected, Absent)
    assert panel.native_mode == Value(value="1920x1080", sources=(path,))


def test_an_empty_file_means_that_no_edid_came() -> None:
    panel = read_panel(notebook(b""))
    blank = Blank(reason="no EDID came over the cable", sources=(EDID,))
    assert edid_readings(panel) == dict.fromkeys(EDID_ATTRIBUTES, blank)


def test_a_missing_file_is_absent() -> None:
    panel = read_panel(notebook(errno.ENOENT))
    assert all(isinstance(reading, Absent) for reading in edid_readings(panel).values())


@pytest.mark.parametrize(("number", "word"), [(errno.EACCES, "EACCES"), (errno.EIO, "EIO")])
def test_a_file_that_fails_is_unreadable(number: int, word: str) -> None:
    readings = edid_readings(read_panel(notebook(number))).values()
    assert {reading.error for reading in readings if isinstance(reading, Unreadable)} == {word}
    assert all(isinstance(reading, Unreadable) for reading in readings)


@pytest.mark.parametrize("edid", [b"\0" * 128, build_edid(EdidPlan())[:127], b"\xff"])
def test_what_is_no_edid_is_malformed_and_not_valid(edid: bytes) -> None:
    readings = edid_readings(read_panel(notebook(edid)))
    assert readings.pop("edid_valid") == told(value=False)
    for reading in readings.values():
        assert isinstance(reading, Unreadable)
        assert reading.error == "MALFORMED"
        assert reading.advice.startswith("reseat the display cable")


def test_a_wrong_sum_or_a_missing_block_is_told_and_the_fields_with_it() -> None:
    good = build_edid(EdidPlan(extensions=(b"\x02",)))
    wrong_sum = good[:12] + bytes([good[12] ^ 1]) + good[13:]
    for edid in (wrong_sum, good[:128]):
        panel = read_panel(notebook(edid))
        assert panel.edid_valid == told(value=False)
        assert panel.edid_manufacturer == told("NRW")
    assert read_panel(notebook(good)).edid_valid == told(value=True)


def test_fields_that_the_edid_leaves_open() -> None:
    plan = EdidPlan(serial=0, texts=(), timings=(), size_centimetres=(0, 0), week=0)
    panel = read_panel(notebook(build_edid(plan)))
    assert panel.edid_serial == Blank(reason="the serial number is zero", sources=(EDID,))
    assert isinstance(panel.edid_names, Blank)
    assert isinstance(panel.native_mode, Absent)
    assert isinstance(panel.refresh_millihertz, Absent)
    assert isinstance(panel.width_millimetres, Absent)
    assert isinstance(panel.height_millimetres, Absent)
    assert panel.made == told("2023")


def test_without_a_timing_the_kernel_knows_the_mode() -> None:
    tree = notebook(build_edid(EdidPlan(timings=())), modes=b"2560x1600\n1920x1200\n")
    native = read_panel(tree).native_mode
    assert native == Value(value="2560x1600", sources=(f"{PLACE}/modes",))


@pytest.mark.parametrize("modes", [b"", b"\n\n", errno.EIO])
def test_nor_does_a_kernel_without_modes(modes: Content) -> None:
    tree = notebook(build_edid(EdidPlan(timings=())), modes=modes)
    assert isinstance(read_panel(tree).native_mode, Absent)


def test_modes_of_the_kernel_never_stand_in_for_an_edid_that_did_not_come() -> None:
    assert isinstance(read_panel(notebook(b"", modes=b"1024x768\n")).native_mode, Blank)


def test_size_in_centimetres_where_the_timing_gives_none() -> None:
    plan = EdidPlan(timings=(TimingPlan(millimetres=(0, 0)),), size_centimetres=(31, 17))
    panel = read_panel(notebook(build_edid(plan)))
    assert (panel.width_millimetres, panel.height_millimetres) == (told(310), told(170))


def test_interlaced_modes_say_so() -> None:
    plan = EdidPlan(timings=(TimingPlan(height=540, interlaced=True),))
    assert read_panel(notebook(build_edid(plan))).native_mode == told("1920x1080i")


@pytest.mark.parametrize(
    ("week", "made"), [(255, "2023 (model year)"), (239, "2023"), (54, "2023, week 54")]
)
def test_made(week: int, made: str) -> None:
    assert read_panel(notebook(build_edid(EdidPlan(week=week)))).made == told(made)


def test_a_serial_number_may_be_a_text() -> None:
    panel = read_panel(notebook(build_edid(EdidPlan(serial=0, serial_texts=("PNL0001",)))))
    assert isinstance(panel.edid_serial, Blank)
    assert panel.edid_serial_texts == told(("PNL0001",))


def test_names_come_once_and_without_padding() -> None:
    plan = EdidPlan(names=("NORWELL 14  ",), texts=("NORWELL 14", " "))
    assert read_panel(notebook(build_edid(plan))).edid_names == told(("NORWELL 14",))


@pytest.mark.parametrize(
    ("status", "expected"),
    [(b"connected\n", True), (b"disconnected\n", False), (b"unknown\n", None), (b"\n", None)],
)
def test_status(status: bytes, *, expected: bool | None) -> None:
    connected = read_panel(notebook(b"", status=status)).connected
    if expected is None:
        assert not isinstance(connected, Value)
    else:
        assert connected == Value(value=expected, sources=(f"{PLACE}/status",))


def test_connectors_of_all_cards_and_nothing_else() -> None:
    names = (
        "card0",
        "card0-HDMI-A-1",
        "card1",
        "card1-DP-2",
        "card1-DSI-1",
        "card1-LVDS-1",
        "card12-eDP-1",
        "renderD128",
        "version",
    )
    tree = DrawnTree(files={f"sys/class/drm/{name}/uevent": b"" for name in names})
    listing = DISPLAYS.find(tree)
    assert isinstance(listing, Value)
    found = [DISPLAYS.read(tree, place) for place in listing.value]
    assert {(display.label, display.position) for display in found} == {
        ("HDMI-A-1", Position.EXTERNAL),
        ("DP-2", Position.EXTERNAL),
        ("DSI-1", Position.INTERNAL),
        ("LVDS-1", Position.INTERNAL),
        ("eDP-1", Position.INTERNAL),
    }


@pytest.mark.parametrize("folder", ["sys/class/drm", "sys/class/backlight"])
def test_listings_that_fail_are_not_empty(folder: str) -> None:
    reader = DISPLAYS if folder.endswith("drm") else BACKLIGHTS
    assert isinstance(reader.find(DrawnTree()), Absent)
    assert isinstance(reader.find(DrawnTree(files={folder: errno.EACCES})), Unreadable)
    others = DrawnTree(files={"sys/class/net/lo/address": b""})
    listing = reader.find(others)
    assert isinstance(listing, Value)
    assert listing.value == ()


WIDE = TimingPlan(
    width=2560,
    height=1600,
    clock_hz=671_340_000,
    blank=(160, 114),
    front=(48, 3),
    sync=(32, 6),
    millimetres=(0, 0),
)


def test_a_mode_that_an_extension_alone_gives() -> None:
    marked = build_marked(MarkedPlan(timing=WIDE, preferred=True), 1_000)
    size = b"".join(n.to_bytes(2, "little") for n in (3445, 2154, 2560, 1600)) + bytes(21)
    sections = ((0x22, 0, marked), (0x21, 0, size))
    extension = build_displayid(DisplayIdPlan(sections=sections))
    edid = build_edid(EdidPlan(timings=(), extensions=(extension,)))
    panel = read_panel(notebook(edid, modes=b"1920x1200\n"))
    assert panel.native_mode == told("2560x1600")
    assert panel.refresh_millihertz == told(144_000)
    assert (panel.width_millimetres, panel.height_millimetres) == (told(344), told(215))
    assert panel.edid_extensions == told(("DisplayID Extension Block",))
    assert panel.native_mode_offered == Value(value=False, sources=(EDID, f"{PLACE}/modes"))


@pytest.mark.parametrize(
    ("modes", "expected"),
    [
        (b"1920x1080\n1280x720\n", True),
        (b"1280x720\n", False),
        (b"", False),
        (errno.EIO, Unreadable),
        (errno.ENOENT, Absent),
    ],
)
def test_the_kernel_offers_the_native_mode_or_not(modes: Content, expected: object) -> None:
    offered = read_panel(notebook(build_edid(EdidPlan()), modes=modes)).native_mode_offered
    found = offered.value if isinstance(offered, Value) else type(offered)
    assert found == expected


@given(st.one_of(st.binary(max_size=300), damaged_edids()), st.binary(max_size=30))
def test_any_bytes_are_read_without_an_error(edid: bytes, text: bytes) -> None:
    panel = read_panel(notebook(edid, status=text, modes=text))
    assert panel.place == PLACE
