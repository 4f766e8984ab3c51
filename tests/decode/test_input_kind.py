"""What an input is: the rules one by one, and what holds for any abilities."""

import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode import input_codes
from closeout.decode.input_codes import KEYS, SWITCHES, name_keys, name_switches
from closeout.decode.input_kind import POINTERS, Abilities, Role, real_keys, tell_roles

HEADER = Path("/usr/include/linux/input-event-codes.h")
LETTERS = frozenset(range(1, 32))
PLANE = frozenset({0, 1})
CONTACTS = frozenset({0x2F, 0x35, 0x36})
FINGER, TOUCH, STYLUS, PEN, LEFT = 0x145, 0x14A, 0x14B, 0x140, 0x110
KEY, REL, ABS, SW = 1, 2, 3, 5


def can(*events: int, **sets: set[int] | frozenset[int]) -> Abilities:
    return Abilities(events=frozenset(events), **{name: frozenset(s) for name, s in sets.items()})


CASES = {
    "keyboard": (can(KEY, keys=LETTERS), {Role.KEYBOARD, Role.KEYS}),
    "one letter less": (can(KEY, keys=LETTERS - {16}), {Role.KEYS}),
    "keys without the event": (can(keys=LETTERS), set()),
    "power button": (can(KEY, keys={116}), {Role.KEYS}),
    "hotkey of the upper range": (can(KEY, keys={0x212}), {Role.KEYS}),
    "only buttons of a pad": (can(KEY, keys={LEFT}), set()),
    "lid": (can(SW, switches={0}), {Role.SWITCH}),
    "mouse": (can(KEY, REL, keys={LEFT}, relative={0, 1}), {Role.MOUSE}),
    "wheel alone": (can(REL, relative={8}), set()),
    "stick": (can(KEY, REL, keys={LEFT}, relative={0, 1}, properties={5}), {Role.POINTING_STICK}),
    "touchpad": (can(KEY, ABS, keys={FINGER, TOUCH}, absolute=PLANE), {Role.TOUCHPAD}),
    "touchpad of contacts": (can(KEY, ABS, keys={FINGER}, absolute=CONTACTS), {Role.TOUCHPAD}),
    "touchscreen": (can(KEY, ABS, keys={TOUCH}, absolute=PLANE), {Role.TOUCHSCREEN}),
    "direct finger": (
        can(KEY, ABS, keys={FINGER}, absolute=CONTACTS, properties={1}),
        {Role.TOUCHSCREEN},
    ),
    "pen": (can(KEY, ABS, keys={STYLUS, TOUCH}, absolute=PLANE, properties={1}), {Role.PEN}),
    "pen and finger": (can(KEY, ABS, keys={PEN, FINGER}, absolute=PLANE), {Role.PEN}),
    "absolute mouse": (can(KEY, ABS, keys={LEFT, TOUCH}, absolute=PLANE), {Role.MOUSE}),
    "axes that only count upwards": (
        can(KEY, ABS, keys={TOUCH}, absolute=frozenset(range(0x2E, 0x37))),
        set(),
    ),
    "nothing on a plane": (can(KEY, ABS, keys={0x120}, absolute=PLANE), set()),
    "accelerometer that says so": (can(ABS, absolute={0}, properties={6}), {Role.ACCELEROMETER}),
    "three axes and no key": (can(ABS, absolute={0, 1, 2}), {Role.ACCELEROMETER}),
    "nothing": (can(), set()),
}


@pytest.mark.parametrize("name", CASES)
def test_role(name: str) -> None:
    abilities, roles = CASES[name]
    assert tell_roles(abilities) == roles


NUMBERS = st.frozensets(st.integers(0, 0x2FF))


@given(
    st.builds(
        Abilities,
        events=st.frozensets(st.integers(0, 6)),
        keys=NUMBERS,
        relative=NUMBERS,
        absolute=NUMBERS,
        switches=NUMBERS,
        properties=st.frozensets(st.integers(0, 7)),
    )
)
def test_nothing_is_two_pointers_at_once(abilities: Abilities) -> None:
    roles = tell_roles(abilities)
    assert len(roles & POINTERS) <= 1
    assert Role.KEYS in roles or Role.KEYBOARD not in roles
    assert real_keys(abilities) <= abilities.keys


def test_words_for_switches_and_keys() -> None:
    assert name_switches({1, 0, 0x1F}) == ("lid", "tablet mode", "switch 0x1f")
    assert name_keys({142, 116, 0x2FE}) == ("power", "sleep", "key 0x2fe")


@pytest.mark.oracle
@pytest.mark.skipif(not HEADER.exists(), reason=f"{HEADER} is not installed")
def test_numbers_are_those_of_the_kernels_header() -> None:
    lines = HEADER.read_text().splitlines()
    defined = dict(
        re.findall(r"^#define\s+(\w+)\s+(0x[0-9a-f]+|\d+)\b", "\n".join(lines), re.MULTILINE)
    )
    ours = {
        name: value
        for name, value in vars(input_codes).items()
        if re.match(r"(EV|REL|ABS|KEY|BTN|SW|INPUT_PROP)_", name)
    }
    assert len(ours) > 25
    assert ours == {name: int(defined[name], 0) for name in ours}
    known_keys = {int(number, 0) for name, number in defined.items() if name.startswith("KEY_")}
    known_switches = {int(number, 0) for name, number in defined.items() if name[:3] == "SW_"}
    assert set(KEYS) <= known_keys
    assert set(SWITCHES) <= known_switches
