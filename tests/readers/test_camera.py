"""Cameras on USB and on the platform: nodes sorted, software left out, shutters told."""

import errno

import pytest

from closeout.model.device import Position
from closeout.model.reading import Absent, Unreadable
from closeout.readers.camera import find_cameras, read_camera
from strategies.drawn_tree import Content, DrawnTree
from strategies.shown import value_of, values_of

USB = "sys/devices/pci0000:00/0000:00:14.0/usb1/1-6"
LENS = f"{USB}/1-6:1.0"
INFRARED = f"{USB}/1-6:1.2"
UNIT = "sys/devices/pci0000:00/0000:00:05.0"
SENSOR = "sys/devices/pci0000:00/0000:00:15.0/i2c-2/i2c-FE410001:00/video4linux/v4l-subdev3"
COVER = "sys/devices/platform/FE550001:00/input/input5"
QUESTION = "input switches event5"


def nodes(place: str, name: str, *numbers: int) -> dict[str, Content]:
    found: dict[str, Content] = {}
    for index, number in enumerate(numbers):
        folder = f"{place}/video4linux/video{number}"
        found[f"{folder}/name"] = f"{name}\n".encode()
        found[f"{folder}/index"] = f"{index}\n".encode()
        found[f"{folder}/dev"] = f"81:{number}\n".encode()
    return found


def udev(number: int, capabilities: str) -> dict[str, Content]:
    return {f"run/udev/data/c81:{number}": f"E:ID_V4L_CAPABILITIES={capabilities}\n".encode()}


FILES: dict[str, Content] = {
    **nodes(LENS, "Lid Camera", 0, 1),
    **udev(0, ":capture:"),
    **udev(1, ":"),
    f"{LENS}/uevent": b"DEVTYPE=usb_interface\nPRODUCT=fe22/c31/110\n",
    f"{USB}/serial": b"OCX0931\n",
    f"{USB}/removable": b"fixed\n",
}
LINKS = {
    "sys/class/video4linux/video0": f"{LENS}/video4linux/video0",
    "sys/class/video4linux/video1": f"{LENS}/video4linux/video1",
    f"{LENS}/driver": "sys/bus/usb/drivers/uvcvideo",
}
NO_INPUT = ("sys/class/net",)


def drawn(**files: Content) -> DrawnTree:
    return DrawnTree(files={**FILES, **files}, links=LINKS, folders=NO_INPUT)


def test_the_nodes_of_one_camera_are_one_camera() -> None:
    assert value_of(find_cameras(drawn())) == (LENS,)


def test_a_usb_camera_is_read_whole() -> None:
    found = read_camera(drawn(), LENS)
    assert (found.label, found.position) == ("video0", Position.INTERNAL)
    assert values_of(found) == {
        "bus": "usb",
        "ids": "fe22:0c31",
        "product": "Lid Camera",
        "serial": "OCX0931",
        "driver": "uvcvideo",
        "fitted": True,
        "capture_nodes": ("video0",),
        "other_nodes": ("video1",),
        "covered_by": (),
    }
    assert isinstance(found.sensors, Absent)


def test_a_camera_at_an_outside_port_is_outside() -> None:
    found = read_camera(drawn(**{f"{USB}/removable": b"removable\n"}), LENS)
    assert found.position is Position.EXTERNAL


def test_two_lenses_in_one_device_are_two_cameras() -> None:
    files = {**FILES, **nodes(INFRARED, "Lid Camera IR", 2, 3)}
    more = {f"sys/class/video4linux/video{n}": f"{INFRARED}/video4linux/video{n}" for n in (2, 3)}
    tree = DrawnTree(files=files, links={**LINKS, **more}, folders=NO_INPUT)
    assert value_of(find_cameras(tree)) == (LENS, INFRARED)
    assert value_of(read_camera(tree, INFRARED).capture_nodes) == ("video2",)


def test_where_udev_never_ran_the_order_of_a_usb_cameras_nodes_tells() -> None:
    files = {path: content for path, content in FILES.items() if "udev" not in path}
    found = read_camera(DrawnTree(files=files, links=LINKS, folders=NO_INPUT), LENS)
    assert value_of(found.capture_nodes) == ("video0",)
    assert value_of(found.other_nodes) == ("video1",)


def test_udev_without_capabilities_leaves_it_to_the_order() -> None:
    found = read_camera(drawn(**{"run/udev/data/c81:0": b"E:ID_BUS=usb\n"}), LENS)
    assert value_of(found.capture_nodes) == ("video0",)


@pytest.mark.parametrize("path", ["run/udev/data/c81:0", f"{LENS}/video4linux/video1/dev"])
def test_a_node_that_cannot_be_read_leaves_all_unsorted(path: str) -> None:
    found = read_camera(drawn(**{path: errno.EIO}), LENS)
    for reading in (found.capture_nodes, found.other_nodes, found.fitted):
        assert isinstance(reading, Unreadable)
    assert found.label == "1-6:1.0"


def platform(**files: Content) -> DrawnTree:
    there = {
        **nodes(UNIT, "Image Unit Capture 0", 0, 1),
        **udev(0, ":capture:"),
        **udev(1, ":capture:"),
        f"{UNIT}/uevent": b"PCI_ID=FE11:7D19\n",
    }
    links = {
        "sys/class/video4linux/video0": f"{UNIT}/video4linux/video0",
        "sys/class/video4linux/video1": f"{UNIT}/video4linux/video1",
        "sys/class/video4linux/v4l-subdev0": f"{UNIT}/video4linux/v4l-subdev0",
        "sys/class/video4linux/v4l-subdev3": SENSOR,
    }
    return DrawnTree(files={**there, **files}, links=links, folders=NO_INPUT)


def test_a_platform_camera_is_its_image_unit_with_a_sensor() -> None:
    found = read_camera(platform(**{f"{SENSOR}/name": b"fe410001 2-0036\n"}), UNIT)
    assert values_of(found) == {
        "bus": "pci",
        "ids": "fe11:7d19",
        "product": "Image Unit Capture 0",
        "fitted": True,
        "capture_nodes": ("video0", "video1"),
        "other_nodes": (),
        "sensors": ("fe410001 2-0036",),
        "covered_by": (),
    }


def test_an_image_unit_without_a_sensor_is_an_empty_place() -> None:
    found = read_camera(platform(), UNIT)
    assert value_of(found.sensors) == ()
    assert value_of(found.fitted) is False


def test_a_sensor_that_cannot_be_read_is_not_missing() -> None:
    found = read_camera(platform(**{f"{SENSOR}/name": errno.EIO}), UNIT)
    assert isinstance(found.fitted, Unreadable)


def test_nodes_of_a_platform_that_udev_did_not_see_are_not_guessed() -> None:
    files = {f"{SENSOR}/name": b"fe410001\n", "run/udev/data/c81:0": b"E:ID_BUS=pci\n"}
    found = read_camera(platform(**files), UNIT)
    assert isinstance(found.capture_nodes, Absent)
    assert isinstance(found.fitted, Absent)


@pytest.mark.parametrize(
    ("place", "links", "cameras"),
    [
        ("sys/devices/virtual", {}, ()),
        ("sys/devices/platform/made-up.0", {}, ()),
        (
            "sys/devices/platform/isp",
            {"sys/devices/platform/isp/of_node": "tree"},
            ("sys/devices/platform/isp",),
        ),
    ],
)
def test_a_node_made_of_software_is_no_camera(
    place: str, links: dict[str, str], cameras: tuple[str, ...]
) -> None:
    tree = DrawnTree(
        files=nodes(place, "Camera", 0),
        links={"sys/class/video4linux/video0": f"{place}/video4linux/video0", **links},
        folders=NO_INPUT,
    )
    assert value_of(find_cameras(tree)) == cameras
    if cameras:
        assert value_of(read_camera(tree, place).bus) == "platform"


@pytest.mark.parametrize(
    ("answer", "covered"), [(b"200\n", ("Privacy slide",)), (b"0\n", ()), (b"1\n", ())]
)
def test_a_shutter_that_is_closed_is_told(answer: bytes, covered: tuple[str, ...]) -> None:
    files: dict[str, Content] = {
        **FILES,
        f"{COVER}/name": b"Privacy slide\n",
        f"{COVER}/capabilities/sw": b"200\n",
        f"{COVER}/event5/dev": b"13:69\n",
    }
    links = {**LINKS, "sys/class/input/input5": COVER, "sys/class/input/mice": "sys/devices/m"}
    tree = DrawnTree(files=files, links=links, answers={QUESTION: answer})
    assert value_of(read_camera(tree, LENS).covered_by) == covered


@pytest.mark.parametrize("path", ["sys/class/input", f"{COVER}/capabilities/sw"])
def test_a_shutter_that_cannot_be_read_is_not_open(path: str) -> None:
    links = LINKS if path == "sys/class/input" else {**LINKS, "sys/class/input/input5": COVER}
    tree = DrawnTree(files={**FILES, path: errno.EACCES}, links=links)
    assert isinstance(read_camera(tree, LENS).covered_by, Unreadable)


def test_a_listing_that_fails_leaves_nothing_known() -> None:
    unlisted = DrawnTree(files={"sys/class/video4linux": errno.EACCES}, folders=NO_INPUT)
    assert isinstance(find_cameras(unlisted), Unreadable)
    found = read_camera(unlisted, UNIT)
    assert isinstance(found.sensors, Unreadable)
    assert isinstance(found.product, Absent)


def test_a_device_whose_nodes_are_gone_says_so() -> None:
    tree = DrawnTree(folders=(*NO_INPUT, f"{LENS}/video4linux"))
    found = read_camera(tree, LENS)
    assert isinstance(found.product, Absent)
    assert found.label == "1-6:1.0"
    assert value_of(found.fitted) is False
    assert value_of(find_cameras(tree)) == ()
