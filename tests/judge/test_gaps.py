"""Sound and cameras that were not found: missing, or there and unseen by this system."""

import pytest

from closeout.judge.demands import judge_inventory
from closeout.model.device import Device, Position
from closeout.model.expectation import Empty, Expectation
from closeout.model.finding import Finding, Outcome
from closeout.model.inventory import Inventory
from closeout.model.reading import Absent
from strategies.demands import PRESENT, expect, where, whole_catalogue
from strategies.devices import DENIED, device, inventory

CATALOGUE = whole_catalogue()
FUNCTION = "pci/0000:00:1f.3"
PLAYBACK = expect("sound_card", "", PRESENT, where=where(serves="playback"))
CAMERA = expect("camera", "", PRESENT)
NO_DRIVER = Absent(reason="no driver is bound", sources=("pci/driver",))


def judged(unit: Inventory, demand: Expectation = PLAYBACK) -> Finding:
    (finding,) = judge_inventory(unit, [demand], CATALOGUE)
    return finding


def function(class_code: str, place: str = FUNCTION, **attributes: object) -> Device:
    return device("pci_device", place, class_code=class_code, **attributes)


def test_sound_of_a_screens_socket_is_not_the_notebooks_sound() -> None:
    screen = device("sound_card", "pci/0000:01:00.1/sound/card0", serves=("display",))
    assert judged(inventory(screen)).outcome is Outcome.FAIL
    both = device("sound_card", serves=("playback", "capture", "display"))
    assert judged(inventory(both)).outcome is Outcome.PASS


def test_what_a_card_serves_that_cannot_be_read_is_unread() -> None:
    assert judged(inventory(device("sound_card", serves=DENIED))).outcome is Outcome.UNREAD


def test_a_sound_card_outside_is_not_the_notebooks_sound() -> None:
    headset = device("sound_card", position=Position.EXTERNAL, serves=("playback", "capture"))
    assert judged(inventory(headset)).outcome is Outcome.FAIL


@pytest.mark.parametrize("class_code", ["040100", "040300", "040380"])
def test_a_sound_function_without_a_driver_is_uncovered(class_code: str) -> None:
    finding = judged(inventory(function(class_code, driver=NO_DRIVER)))
    assert finding.outcome is Outcome.UNCOVERED
    assert "0000:00:1f.3 without a driver" in finding.found


@pytest.mark.parametrize("class_code", ["040100", "040380"])
def test_a_sound_processor_that_gives_no_card_lacks_its_firmware(class_code: str) -> None:
    finding = judged(inventory(function(class_code, driver="fen-dsp")))
    assert finding.outcome is Outcome.UNCOVERED
    assert "the sound processor's firmware is missing from this system" in finding.found


def test_plain_hd_audio_without_a_card_needs_no_firmware_and_is_missing() -> None:
    assert judged(inventory(function("040300", driver="fen-hda"))).outcome is Outcome.FAIL


def test_a_processor_whose_card_serves_less_has_its_firmware() -> None:
    card = device("sound_card", f"{FUNCTION}/fen/sound/card0", serves=("display",))
    assert judged(inventory(function("040100", driver="fen-dsp"), card)).outcome is Outcome.FAIL


def test_another_functions_card_does_not_speak_for_the_processor() -> None:
    card = device("sound_card", f"{FUNCTION}0/sound/card0", serves=("display",))
    assert (
        judged(inventory(function("040100", driver="fen-dsp"), card)).outcome is Outcome.UNCOVERED
    )


def test_the_sound_of_a_graphics_card_without_a_driver_hides_no_speakers() -> None:
    """Function 1 beside a display controller as function 0."""
    sound = function("040300", "pci/0000:01:00.1", driver=NO_DRIVER)
    graphics = function("030000", "pci/0000:01:00.0")
    assert judged(inventory(graphics, sound)).outcome is Outcome.FAIL
    assert judged(inventory(sound)).outcome is Outcome.UNCOVERED
    unread = function("030000", "pci/0000:01:00.0")
    other = device("pci_device", "pci/0000:01:00.0", class_code=DENIED)
    assert judged(inventory(other, sound)).outcome is Outcome.UNCOVERED
    third = function("040300", "pci/0000:01:00.6", driver=NO_DRIVER)
    assert judged(inventory(unread, third)).outcome is Outcome.UNCOVERED


def test_what_is_plugged_in_outside_hides_nothing_inside() -> None:
    webcam = device(
        "usb_device", position=Position.EXTERNAL, interface_classes=("0e/01/00",), drivers=()
    )
    assert judged(inventory(webcam), CAMERA).outcome is Outcome.FAIL
    dock = device("pci_device", position=Position.EXTERNAL, class_code="040300", driver=NO_DRIVER)
    assert judged(inventory(dock)).outcome is Outcome.FAIL


@pytest.mark.parametrize(
    "hidden",
    [
        device("usb_device", "usb/1-6", interface_classes=("0e/01/00",), drivers=()),
        function("048000", driver=NO_DRIVER),
        function("040000", driver=NO_DRIVER),
    ],
)
def test_a_camera_without_a_driver_is_uncovered(hidden: Device) -> None:
    assert judged(inventory(hidden), CAMERA).outcome is Outcome.UNCOVERED


def test_an_image_unit_without_a_sensor_is_no_camera_and_says_why() -> None:
    unit = device("camera", "pci/0000:00:05.0", bus="pci", fitted=False)
    finding = judged(inventory(unit), CAMERA)
    assert finding.outcome is Outcome.UNCOVERED
    assert "this system has no driver for a sensor behind 0000:00:05.0" in finding.found


def test_a_usb_camera_that_gives_no_pictures_is_no_camera() -> None:
    unit = device("camera", bus="usb", fitted=False)
    assert judged(inventory(unit), CAMERA).outcome is Outcome.FAIL


def test_a_camera_passes_and_the_kinds_that_need_no_driver_are_never_uncovered() -> None:
    assert judged(inventory(device("camera", bus="usb", fitted=True)), CAMERA).outcome is (
        Outcome.PASS
    )
    reader = device("usb_device", interface_classes=("0b/00/00",), drivers=())
    missing = expect("smart_card_reader", "", PRESENT)
    assert judged(inventory(reader), missing).outcome is Outcome.FAIL


@pytest.mark.parametrize(
    ("plugged", "outcome"),
    [((), Outcome.PASS), (("Headphone",), Outcome.REVIEW), (DENIED, Outcome.UNREAD)],
)
def test_a_plug_in_a_jack_asks_a_person(plugged: object, outcome: Outcome) -> None:
    demand = expect("sound_card", "plugged", Empty(), review_only=True)
    assert judged(inventory(device("sound_card", plugged=plugged)), demand).outcome is outcome


@pytest.mark.parametrize(
    ("covered", "outcome"), [((), Outcome.PASS), (("Privacy slide",), Outcome.REVIEW)]
)
def test_a_closed_shutter_asks_a_person(covered: object, outcome: Outcome) -> None:
    demand = expect("camera", "covered_by", Empty(), review_only=True)
    assert judged(inventory(device("camera", covered_by=covered)), demand).outcome is outcome


def test_a_fingerprint_reader_without_a_driver_passes_where_the_profile_names_it() -> None:
    reader = device("usb_device", ids="fe21:0007", interface_classes=("ff/00/00",), drivers=())
    demand = expect("usb_device", "", PRESENT, where=where(ids="fe21:0007"))
    assert judged(inventory(reader), demand).outcome is Outcome.PASS
