"""Input devices drawn as the kernel shows them, and their bitmaps built from sets of numbers."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from strategies.drawn_tree import Content, DrawnTree

KEYS_ARE_LISTED_FROM = 0x71
AT_KEYS = "402000002 3803078f800d001 feffffdfffefffff fffffffffffffffe"
"""What the driver of PS/2 keyboards advertises, whatever the keyboard has (drivers/input/keyboard/
atkbd.c): 145 keys, the lowest 1, the highest 226."""
HID_OVER_I2C = "acpi:FE310214:PNP0C50:"


def build_bits(numbers: Iterable[int], word_bits: int = 64) -> str:
    """The words of a set of numbers, as input_print_bitmap writes them."""
    words: dict[int, int] = {}
    for number in numbers:
        place, bit = divmod(number, word_bits)
        words[place] = words.get(place, 0) | 1 << bit
    return " ".join(f"{words.get(place, 0):x}" for place in range(max(words, default=0), -1, -1))


def build_modalias(bits: Mapping[str, Iterable[int]]) -> str:
    """The modalias with its lists; keys below 71h are not in it."""
    lists = {letter: sorted(bits.get(letter, ())) for letter in "ekramlsfw"}
    lists["k"] = [key for key in lists["k"] if key >= KEYS_ARE_LISTED_FROM]
    told = "".join(
        letter + "".join(f"{number:X}," for number in numbers) for letter, numbers in lists.items()
    )
    return f"input:b0018vFE31p0214e0100-{told}"


@dataclass(frozen=True, slots=True, kw_only=True)
class InputPlan:
    """One input. `bits` by the letter of the modalias, `p` for properties; `udev` are flags."""

    number: int = 1
    parent: str = "sys/devices/platform/i8042/serio0"
    driver: str = "atkbd"
    name: str = "Drawn Keyboard"
    bus: str = "0011"
    ids: tuple[str, str] = ("0001", "0001")
    bits: Mapping[str, Iterable[int]] = field(default_factory=dict)
    texts: Mapping[str, str] = field(default_factory=dict)
    udev: Mapping[str, str] = field(default_factory=dict)
    word_bits: int = 64

    @property
    def place(self) -> str:
        """The folder of the input."""
        return f"{self.parent}/input/input{self.number}"


FILES = {"e": "ev", "k": "key", "r": "rel", "a": "abs", "w": "sw"}


def draw_inputs(
    *plans: InputPlan,
    files: Mapping[str, Content] | None = None,
    links: Mapping[str, str] | None = None,
) -> DrawnTree:
    """A machine with these inputs, and with what else is to be drawn."""
    drawn: dict[str, Content] = {"sys/class/net/lo/address": b""}
    linked: dict[str, str] = {}
    for plan in plans:
        draw_input(plan, drawn, linked)
    return DrawnTree(files={**drawn, **(files or {})}, links={**linked, **(links or {})})


def draw_input(plan: InputPlan, files: dict[str, Content], links: dict[str, str]) -> None:
    """One input with its links and what udev says of it."""
    place = plan.place
    links[f"sys/class/input/input{plan.number}"] = place
    links[f"{place}/device"] = plan.parent
    if plan.driver:
        links[f"{plan.parent}/driver"] = f"sys/bus/drawn/drivers/{plan.driver}"
    bitmaps = {f"capabilities/{FILES[x]}": plan.bits.get(x, ()) for x in FILES}
    bitmaps["properties"] = plan.bits.get("p", ())
    texts = {name: build_bits(bits, plan.word_bits) for name, bits in bitmaps.items()}
    texts |= {
        "name": plan.name,
        "id/bustype": plan.bus,
        "id/vendor": plan.ids[0],
        "id/product": plan.ids[1],
        "inhibited": "0",
        "modalias": build_modalias(plan.bits),
        f"event{plan.number}/dev": f"13:{64 + plan.number}",
    }
    texts |= plan.texts
    for name, text in texts.items():
        files[f"{place}/{name}"] = f"{text}\n".encode()
    if plan.udev:
        record = "".join(f"E:{key}={value}\n" for key, value in plan.udev.items()).encode()
        files[f"run/udev/data/+input:input{plan.number}"] = record
        files[f"run/udev/data/c13:{64 + plan.number}"] = record


LETTERS = frozenset(range(1, 32))
KEYBOARD = InputPlan(bits={"e": {0, 1, 4, 17, 20}}, texts={"capabilities/key": AT_KEYS})
TOUCHPAD = InputPlan(
    number=2,
    parent="sys/devices/pci0000:00/0000:00:15.0/i2c-1/i2c-FE310214:00/0018:FE31:0214.0001",
    driver="hid-multitouch",
    name="FE310214:00 FE31:0214 Touchpad",
    bus="0018",
    ids=("fe31", "0214"),
    bits={
        "e": {0, 1, 3, 4},
        "k": {0x110, 0x145, 0x148, 0x14A, 0x14D, 0x14E, 0x14F},
        "a": {0, 1, 0x2F, 0x35, 0x36, 0x37, 0x39},
        "p": {0, 2},
    },
    udev={
        "ID_INPUT": "1",
        "ID_INPUT_TOUCHPAD": "1",
        "ID_INPUT_WIDTH_MM": "105",
        "ID_INPUT_HEIGHT_MM": "65",
    },
)
MOUSE_BITS = {"e": {0, 1, 2}, "k": {0x110, 0x111}, "r": {0, 1}}
PS2_MOUSE = InputPlan(
    number=3,
    parent="sys/devices/platform/i8042/serio1",
    driver="psmouse",
    name="PS/2 Generic Mouse",
    ids=("0002", "0001"),
    bits=MOUSE_BITS,
)
LID = InputPlan(
    number=4,
    parent="sys/devices/LNXSYSTM:00/LNXSYBUS:00/PNP0C0D:00",
    driver="button",
    name="Lid Switch",
    bus="0019",
    ids=("0000", "0005"),
    bits={"e": {0, 5}, "w": {0}},
)
POWER_BUTTON = InputPlan(
    number=5,
    parent="sys/devices/LNXSYSTM:00/LNXPWRBN:00",
    driver="button",
    name="Power Button",
    bus="0019",
    ids=("0000", "0001"),
    bits={"e": {0, 1}, "k": {116, 143}},
)
