"""Input devices of booted notebooks, as the real kernel shows them."""

import json
from collections.abc import Callable
from typing import Any

import pytest

from notebook.machine import Machine

pytestmark = pytest.mark.notebook

Devices = list[dict[str, Any]]


def shown(machine: Machine) -> dict[str, Devices]:
    ran = machine.session.run("closeout", "show", "--json", seconds=120)
    assert ran.status == 0, ran.err
    return {kind: part["devices"] for kind, part in json.loads(ran.out)["inventory"].items()}


def values(device: dict[str, Any]) -> dict[str, Any]:
    return {name: told.get("value") for name, told in device["attributes"].items()}


@pytest.mark.xdist_group("osier-15-touchpad-line")
def test_a_touchpad_without_its_line(booted: Callable[[str], Machine]) -> None:
    """Firmware names it on I2C, nobody drives its bus, and a mouse on PS/2 stands in for it."""
    inventory = shown(booted("osier-15-touchpad-line"))
    assert inventory["touchpad"] == []
    named = {device["label"]: values(device) for device in inventory["input_bus_device"]}
    line = named["FE310230:00"]
    assert (line["bus"], line["name"], line["driver"]) == ("acpi", "FE310230", None)
    assert line["silent"] is False
    (mouse,) = inventory["mouse"]
    assert values(mouse)["bus"] == "i8042"
    assert values(mouse)["fallback"] is True


@pytest.mark.xdist_group("osier-15-touchpad-line")
def test_its_absence_is_uncovered_and_not_missing(booted: Callable[[str], Machine]) -> None:
    machine = booted("osier-15-touchpad-line")
    ran = machine.session.run(
        *("closeout", "check", "--json", "--out", "/tmp/line"),  # noqa: S108 - in the guest
        *("--profile", "any-notebook"),
        seconds=120,
    )
    findings = {found["rule"]: found for found in json.loads(ran.out)["findings"]}
    assert findings["touchpad.presence"]["outcome"] == "uncovered"
    assert "FE310230:00" in findings["touchpad.presence"]["found"]
    assert findings["keyboard.presence"]["outcome"] == "pass"


@pytest.mark.xdist_group("skerry-13")
def test_a_touch_panel(booted: Callable[[str], Machine]) -> None:
    (screen,) = shown(booted("skerry-13"))["touchscreen"]
    told = values(screen)
    assert screen["position"] == "internal"
    assert (told["bus"], told["ids"], told["driver"]) == ("i2c", "fe33:0a21", "hid-multitouch")
    assert (told["width_millimetres"], told["height_millimetres"]) == (285, 190)
