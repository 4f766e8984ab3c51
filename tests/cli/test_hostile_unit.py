"""A notebook whose strings attack whoever shows them, from its files to page and terminal."""

import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from closeout.expect.shipped import shipped_folder
from closeout.report.from_json import load_report
from oracles.web_page import WebPage
from strategies import smbios
from strategies.fen import HEALTHY
from strategies.laid_out import lay_out
from strategies.notebook import Plan, draw_notebook
from strategies.surroundings import call_in

SCHEMA = Draft202012Validator(
    json.loads((shipped_folder("reports") / "report-1.schema.json").read_text("utf-8"))
)
HOSTILE = {
    "script": "<script>alert(1)</script>",
    "attribute": "' onload=\"alert(1)\" x='",
    "closing": "</td></table></style><img src=x onerror=alert(1)>",
    "template": "{{ 7 * 191 }}{% include 'report.css' %}",
    "title": "\x1b]0;owned\x07\x1b[2J\x1b[1;1H",
    "C1": "\x9b31m\x85",
    "bidi": "NW\u202e02DK\u2066\u200f",
    "markup": "[/red][bold]NW[/bold] [link=file:///etc]:smile:",
    "lines": "NW83\nRELEASE\r\n\u2028PASS",
    "long": "NW83KD20" * 1280,
    "no UTF-8": "NW83\udcff\udc9bKD",
    "path": "../../../../etc/passwd",
    "formula": '=HYPERLINK("http://x")',
}
COLOUR = re.compile(r"\x1b\[[0-9;]*m")


MARK = "@HERE@"
SAFE_ATTRIBUTES = {
    *("lang", "charset", "name", "content", "http-equiv", "class", "id", "href", "scope"),
    *("aria-labelledby", "aria-hidden", "viewbox", "d", "cx", "cy", "r"),
    *("fill", "stroke", "stroke-width", "stroke-linecap", "stroke-linejoin"),
}


def marked_plan() -> Plan:
    """The healthy notebook with a mark behind every string that hardware tells."""
    names = ("maker", "product", "version", "serial", "sku", "family", "asset_tag", "board_serial")
    changes: dict[str, Any] = {name: f"{getattr(HEALTHY, name) or ''}{MARK}" for name in names}
    (pack,) = HEALTHY.packs
    (radio,) = HEALTHY.usb
    module = HEALTHY.modules[0]
    changes |= {
        "packs": (replace(pack, model=pack.model + MARK, serial=pack.serial + MARK),),
        "usb": (replace(radio, product=radio.product + MARK, maker=radio.maker + MARK),),
        "modules": (replace(module, serial=MARK, part=MARK, locator=MARK),),
        "drive_model": f"Peat{MARK}",
        "drive_serial": MARK,
        "firmware": f"2.11{MARK}",
    }
    return replace(HEALTHY, **changes)


def hostile_unit(text: str, root: Path) -> Path:
    """The marked notebook as a folder, with the text in the place of each mark."""
    raw = text.encode("utf-8", "surrogateescape")
    tree = draw_notebook(marked_plan())
    files = {
        path: content.replace(MARK.encode(), raw) if isinstance(content, bytes) else content
        for path, content in tree.files.items()
    }
    tables = "sys/firmware/dmi/tables"
    table = files[f"{tables}/DMI"]
    assert isinstance(table, bytes)
    assert table.count(raw) > 10
    entry = smbios.build_entry_point((3, 3), len(table), 0x76000000)
    files[f"{tables}/smbios_entry_point"] = entry
    return lay_out(replace(tree, files=files), root)


def is_harmless(text: str) -> bool:
    """Every character is one that a reader sees, or ends a line."""
    return all(character.isprintable() for character in text.replace("\n", ""))


@pytest.fixture(params=HOSTILE.values(), ids=HOSTILE)
def attack(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """A hostile text; the unit that tells it is in `unit`."""
    text: str = request.param
    hostile_unit(text, tmp_path / "unit")
    return text


def test_a_hostile_unit_is_checked_like_any_other(attack: str, tmp_path: Path) -> None:
    for ways in ({"encoding": "latin-1"}, {"terminal": True}):
        told = call_in(tmp_path, "check", "--root", tmp_path / "unit", **ways)
        assert told.code in {0, 1}, told.err
        shown = COLOUR.sub("", told.out) if ways.get("terminal") else told.out
        assert is_harmless(shown)
        assert is_harmless(told.err.replace("\r", ""))
        assert not {"RELEASE", "PASS", "HOLD"} & set(map(str.strip, shown.splitlines()[1:]))
    (*_, attempt) = sorted((tmp_path / "closeout-reports" / "no-order").iterdir())
    raw = (attempt / "report.json").read_bytes()
    SCHEMA.validate(json.loads(raw))
    assert is_harmless(raw.decode())
    assert_page_is_harmless((attempt / "report.html").read_text("utf-8"))
    kept = load_report(raw).inventory.section("usb_device").devices
    if attack.isprintable() and len(attack) < 100:
        assert attack in repr(kept) or repr(attack)[1:-1] in repr(kept)


WORKED_OUT = re.compile(r"(?<![0-9a-f])1337(?![0-9a-f])")
"""What a template of the attack comes to; four digits of a digest are no sign of it."""


def assert_page_is_harmless(markup: str) -> None:
    """No element, attribute or script that the template does not have, nothing loaded."""
    assert is_harmless(markup)
    page = WebPage.of(markup)
    tags = {element.tag for element in page.elements}
    assert not tags & {"script", "img", "iframe", "object", "embed", "base", "form", "a:link"}
    for element in page.elements:
        assert set(element.attributes) <= SAFE_ATTRIBUTES, element
    assert not WORKED_OUT.search("".join(page.text))


@pytest.mark.unmeasured
@pytest.mark.usefixtures("attack")
def test_words_and_json_of_a_hostile_unit(tmp_path: Path) -> None:
    unit = tmp_path / "unit"
    for command in ("show", "check --quiet", "check --redact", "show --json"):
        told = call_in(tmp_path, *command.split(), "--root", unit)
        assert told.code in {0, 1}
        assert told.err == ""
        assert is_harmless(told.out)
        assert "--quiet" not in command or told.out.count("\n") == 1
        if "--json" in command:
            json.loads(told.raw)


@pytest.mark.usefixtures("attack")
def test_evidence_of_a_hostile_unit_comes_back_whole(tmp_path: Path) -> None:
    unit = tmp_path / "unit"
    told = call_in(tmp_path, "capture", "--root", unit, "-o", "kept.gz")
    assert told.code == 0
    shown = call_in(tmp_path, "show", "--root", unit, "--json")
    assert shown.raw == call_in(tmp_path, "show", "--evidence", tmp_path / "kept.gz", "--json").raw


ORDER = """work_order = 1
order = "{order}"
repairs = ["memory"]
[unit]
serial = "NW83KD20"
"""


@pytest.mark.parametrize(
    "order", ["../../up", "/etc/x", "a\\u001b[2Jb", "<b>", "CON", "no-order", "\\u202e", "x" * 500]
)
def test_a_hostile_order_number_stays_in_its_folder(order: str, tmp_path: Path) -> None:
    """It is refused by name, or becomes one folder below that of the reports."""
    lay_out(draw_notebook(HEALTHY), tmp_path / "unit")
    file = tmp_path / "order.toml"
    file.write_text(ORDER.format(order=order))
    told = call_in(tmp_path, "check", "--root", tmp_path / "unit", "--work-order", file)
    assert is_harmless(told.out + told.err)
    if told.code == 2:
        assert "order" in told.err
        assert not (tmp_path / "closeout-reports").exists()
    else:
        reports = tmp_path / "closeout-reports"
        (folder,) = reports.iterdir()
        assert len(list(reports.glob("*/attempt-*/report.json"))) == 1
        assert folder.name not in {"no-order", "CON"}
    assert {path.name for path in tmp_path.iterdir()} <= {
        *("unit", "order.toml", "closeout-reports"),
    }
