"""What is still to do after a board swap, and in which order."""

import pytest

from closeout.judge.demands import judge_inventory
from closeout.judge.hand_back import OrderedUnit, hand_back_of
from closeout.model.expectation import Equals, Filled, NewerOrEqual
from closeout.model.finding import Finding
from closeout.model.handling import HandBack, OrderFacts
from strategies.demands import PRESENT, expect, whole_catalogue
from strategies.devices import BLANK, FILLER, device, inventory

CATALOGUE = whole_catalogue()
SERIAL = ("system", "serial")
NEW_BOARD = inventory(
    device("system", serial=BLANK, sku=FILLER, uuid=BLANK, product="Fen 14"),
    device("bios", version="1.02"),
    device("clock", running=False),
    device("firmware", secure_boot=False),
)
WANTED = (
    expect("system", "serial", Equals(value="NL7QK42D")),
    expect("system", "sku", Equals(value="FEN14-ß")),
    expect("system", "uuid", Filled()),
    expect("system", "product", Equals(value="Fen 14")),
    expect("bios", "version", NewerOrEqual(version="1.18")),
    expect("clock", "running", Equals(value=True)),
    expect("firmware", "secure_boot", Equals(value=True)),
    expect("licence", "", PRESENT),
)
FINDINGS = judge_inventory(NEW_BOARD, WANTED, CATALOGUE)
UNIT = {SERIAL: "NL7QK42D", ("system", "sku"): "FEN14-ß", ("system", "product"): "Fen 14"}


def listed(
    findings: tuple[Finding, ...] = FINDINGS,
    repairs: tuple[str, ...] = ("system-board",),
    label: str = "",
    **facts: str,
) -> HandBack:
    order = OrderedUnit(unit=UNIT, facts=OrderFacts(**facts), label=label)
    found = hand_back_of(findings, CATALOGUE.entries, repairs, order)
    assert found is not None
    return found


def titles(found: HandBack) -> list[str]:
    return [item.title for item in found.items]


def test_the_recovery_key_comes_first_and_settings_last() -> None:
    assert titles(listed()) == [
        "Recovery key of an encrypted disk",
        "title of system.serial",
        "title of system.sku",
        "title of system.uuid",
        "System firmware",
        "Licence table",
        "Clock",
        "Secure Boot",
        "TPM",
        "Settings that were changed for the check",
    ]


def test_a_field_stands_with_its_value_and_what_is_in_its_place() -> None:
    serial, sku, uuid = (item for item in listed().items if item.title.startswith("title"))
    assert (serial.value, serial.is_scannable) == ("NL7QK42D", True)
    assert serial.found.startswith("blank")
    assert "check --again" in serial.action
    assert (sku.value, sku.is_scannable) == ("FEN14-ß", False)
    assert (uuid.value, uuid.is_scannable) == ("", False)
    assert "does not say" in uuid.action


def test_nothing_is_shown_to_be_typed_while_label_and_order_differ() -> None:
    found = listed(label="NL7QK99X")
    assert "does not agree" in found.withheld
    assert [item.value for item in found.items] == [""] * len(found.items)
    assert listed(label="NL7QK42D").withheld == ""


@pytest.mark.parametrize(
    ("facts", "said"),
    [
        ({"encryption": "used"}, "Touch neither"),
        ({"encryption": "unknown"}, "Touch neither"),
        ({"encryption": "used", "recovery_key": "not confirmed"}, "Touch neither"),
        ({"encryption": "used", "recovery_key": "confirmed"}, "has confirmed"),
    ],
)
def test_the_key_is_asked_for_until_it_is_confirmed(facts: dict[str, str], said: str) -> None:
    first = listed(**facts).items[0]
    assert said in first.action
    assert bool(first.caution) is (said == "Touch neither")


def test_a_disk_that_is_not_encrypted_needs_no_key() -> None:
    assert "Recovery key of an encrypted disk" not in titles(listed(encryption="none"))


@pytest.mark.parametrize("password", ["known", "unknown", "none", ""])
def test_a_password_of_the_firmware_is_handed_back_too(password: str) -> None:
    has_one = "Password of the firmware" in titles(listed(firmware_password=password))
    assert has_one is (password in {"known", "unknown"})


def test_without_a_swap_a_list_is_made_where_the_identity_is_wrong() -> None:
    assert titles(listed(repairs=("drive",)))[-1] == "Secure Boot"
    sound = tuple(finding for finding in FINDINGS if finding.rule == "clock.running")
    order = OrderedUnit(unit=UNIT, facts=OrderFacts())
    assert hand_back_of(sound, CATALOGUE.entries, ("drive",), order) is None


def test_a_field_that_could_not_be_read_is_no_field_to_program_blindly() -> None:
    unread = judge_inventory(inventory(), (expect("system", "family", Filled()),), CATALOGUE)
    assert "title of system.family" not in titles(listed(findings=unread))
