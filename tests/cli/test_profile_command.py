"""`closeout profile`: explain, test, diff and draft, as people call them."""

import json
from pathlib import Path

import pytest

from closeout.check import judge_evidence, read_out
from closeout.cli.demo import UNIT_FILE, DemoUnit, demo_units
from closeout.cli.known_units import judge_known, read_table
from closeout.cli.terms import load_demands
from closeout.expect.load import load_profile, profile_set
from closeout.expect.profile import Profile
from closeout.kernel.evidence_file import encode_evidence
from closeout.model.finding import Outcome
from closeout.model.report import Report
from closeout.model.verdict import Verdict
from strategies.fen import HEALTHY, KEY
from strategies.notebook import draw_notebook
from strategies.runs import record
from strategies.surroundings import call_in

UNITS = {unit.folder.name: unit for unit in demo_units()}
HEALTHY_UNIT = UNITS["fen-14-healthy"]
HEAD = 'profile = 1\nid = "{0}"\nrevision = "1"\ntitle = "Slate"\n'
WIFI = '[[demand]]\nclass = "wifi"\npresent = true\nweight = "must"\n'
FACTS = """lacks = ["clock-cell"]
keyboard_layout = "de"
[norm]
blank = ["system.family"]
[label.serial]
prefixes = ["SN", "S/N"]
case = "upper"
[built_in]
connectors = ["eDP-1"]
usb_ports = ["1-4"]
usb_ids = ["fe01:0002"]
[[harmless]]
pattern = "^quiet"
meaning = "it hums"
examples = ["quiet"]
"""
OPTION = """[[option]]
name = "reader"
[[option.choice]]
name = "with"
sku = "F.*"
[[option.choice.demand]]
class = "usb_device"
where = { ids = "fe13:0607" }
present = true
weight = "must"
[[option.choice]]
name = "without"
"""


def write(folder: Path, name: str, *parts: str) -> Path:
    file = folder / f"{name}.toml"
    file.write_text(HEAD.format(name) + "".join(parts))
    return file


def unit_file(unit: DemoUnit) -> Path:
    return unit.folder / UNIT_FILE


def test_explain_says_everything_in_sentences(tmp_path: Path) -> None:
    drop = '[[drop]]\nclass = "fan"\nreason = "none is in it"\n'
    fan = '[[demand]]\nclass = "fan"\npresent = true\nweight = "note"\n'
    demands = """[[demand]]
class = "battery"
attribute = "energy_full_design_uwh"
equals = 50_000_000
tolerance_percent = 2
source = "table 4"
weight = "should"
on_mismatch = "review"
[[demand]]
class = "drive"
where = { bus = "nvme" }
devices_at_least = 1
weight = "must"
part = "drive"
connection = "M.2 socket"
external_counts = true
[[demand]]
class = "touchpad"
present = true
bus_ids = ["PNP0C50"]
weight = "note"
[[demand]]
class = "system"
attribute = "serial"
matches_order = true
weight = "must"
"""
    match = '[matches]\nmanufacturer = "Norwel"\nproduct = "Slate"\n'
    write(tmp_path, "maker", "base = true\n", fan, WIFI)
    model = write(tmp_path, "model", 'inherits = "maker"\n', FACTS, match, drop, demands, OPTION)
    told = call_in(tmp_path, "profile", "explain", model)
    assert (told.code, told.err) == (0, "")
    lines = told.out.splitlines()
    for line in (
        "Slate (model), revision 1 on maker 1.",
        (
            "Made of maker revision 1, model revision 1; what a later one says goes before an"
            " earlier one's."
        ),
        "For units whose firmware names the maker 'Norwel' and the product 'Slate'.",
        "Inside the unit: connectors eDP-1.",
        "Inside the unit: what is at USB ports 1-4.",
        "Inside the unit: USB devices fe01:0002.",
        "The model has no clock-cell.",
        "Healthy units leave blank: system.family.",
        "The keyboard's layout is de.",
        "The label shows serial after SN or S/N; case upper, hyphens keep.",
        "A line of the kernel's log like ^quiet is harmless: it hums.",
        "Not demanded although inherited: fan presence: none is in it.",
        "  wifi: must be present. By profile maker.",
        (
            "  drive where bus is nvme (drive): must be present; what is plugged in counts too;"
            " look at M.2 socket. By profile model."
        ),
        "  touchpad: is noted unless it is present; its bus shows it as PNP0C50. By profile model.",
        (
            "  system: serial (serial number of the unit) must be what the work order says. By"
            " profile model."
        ),
        (
            "  battery: energy_full_design_uwh (energy when full, by design) should be 49 Wh to 51"
            " Wh; otherwise a person is asked. By profile model (table 4; 50000000 with a tolerance"
            " of 2 %)."
        ),
        "Option reader: by the order, else by the SKU, else a person is asked.",
        "  with, with a SKU like F.*:",
        (
            "    usb_device where ids is fe13:0607: must be present. By profile model, option"
            " reader: with."
        ),
        "  without:",
        "    Nothing more is demanded.",
    ):
        assert line in lines


def test_explain_tells_what_a_profile_is_for(tmp_path: Path) -> None:
    assert (
        "A base: no unit is judged by it"
        in call_in(tmp_path, "profile", "explain", "northlake/fen").out
    )
    told = call_in(tmp_path, "profile", "explain", "any-notebook").out
    assert "For any unit; chosen where" in told
    refused = call_in(tmp_path, "profile", "explain", "northlake/fan")
    assert refused.code == 2
    assert "did you mean northlake/fen" in refused.err


def test_diff_says_what_is_added_removed_and_changed(tmp_path: Path) -> None:
    old = write(tmp_path, "old", 'keyboard_layout = "us"\n', WIFI, OPTION)
    health = '[[demand]]\nclass = "battery"\nattribute = "health_percent"\nat_least = 60\n'
    note = WIFI.replace("must", "note")
    other = OPTION.replace("fe13:0607", "fe13:0608").replace('"without"', '"none"')
    new = write(tmp_path, "new", FACTS, note, f'{health}weight = "should"\n', other)
    told = call_in(tmp_path, "profile", "diff", old, new)
    assert told.code == 0
    lines = told.out.splitlines()
    for line in (
        "changed: wifi: must be present; now: wifi: is noted unless it is present.",
        (
            "added: battery: health_percent (full against design, rounded down) should be at least"
            " 60 %."
        ),
        (
            "removed: option reader, with (SKU like F.*): usb_device where ids is fe13:0607: must"
            " be present."
        ),
        (
            "added: option reader, with (SKU like F.*): usb_device where ids is fe13:0608: must be"
            " present."
        ),
        "removed: option reader, without.",
        "added: option reader, none.",
        "removed: The keyboard's layout is us.",
        "added: The keyboard's layout is de.",
        "added: Healthy units leave blank: system.family.",
    ):
        assert line in lines
    assert sorted(call_in(tmp_path, "profile", "diff", new, old).out.split("\n")) != sorted(lines)
    assert call_in(tmp_path, "profile", "diff", old, old).out == "the same is demanded\n"


def test_test_shows_verdicts_and_how_often_a_demand_fails(tmp_path: Path) -> None:
    files = [unit_file(unit) for unit in UNITS.values()]
    told = call_in(tmp_path, "profile", "test", "any-notebook", *files)
    assert told.code == 0, "whatever the verdicts are"
    lines = told.out.splitlines()
    assert f"{unit_file(HEALTHY_UNIT)}: release" in lines
    assert any(line.endswith("skerry-13-new-board/unit.jsonl.gz: hold") for line in lines)
    assert any(
        line.startswith("  fail, a must: system.serial (system): expected") for line in lines
    )
    assert not any(line.startswith("  pass") for line in lines)
    table = lines[lines.index("demands by the number of units that fail them:") + 1 :]
    assert "     1  system.serial" in table
    assert list(tmp_path.iterdir()) == [], "nothing is written"


def test_test_of_what_is_no_evidence_or_no_models_profile(tmp_path: Path) -> None:
    (tmp_path / "x").write_text("x")
    for arguments in (
        ("any-notebook", tmp_path / "x"),
        ("any-notebook", tmp_path / "missing"),
        ("northlake/fen", unit_file(HEALTHY_UNIT)),
    ):
        told = call_in(tmp_path, "profile", "test", *arguments)
        assert (told.code, told.err.count("\n")) == (2, 1)


@pytest.mark.parametrize("name", [*UNITS, "drawn"])
def test_unit_meets_the_profile_drafted_from_it(name: str, tmp_path: Path) -> None:
    if name == "drawn":
        file = tmp_path / "unit.jsonl.gz"
        file.write_bytes(encode_evidence(record(draw_notebook(HEALTHY))))
    else:
        file = unit_file(UNITS[name])
    told = call_in(tmp_path, "profile", "draft", file, "--id", "depot/new")
    assert (told.code, told.err) == (0, "")
    (tmp_path / "draft.toml").write_text(told.out)
    assert call_in(tmp_path, "profile", "lint", tmp_path / "draft.toml").code == 0
    tested = call_in(tmp_path, "profile", "test", tmp_path / "draft.toml", file)
    assert tested.out == f"{file}: release\n\nno demand fails\n"
    assert 'id = "depot/new"' in told.out


def test_draft_names_model_and_doubts(tmp_path: Path) -> None:
    healthy = call_in(tmp_path, "profile", "draft", unit_file(HEALTHY_UNIT)).out
    assert 'id = "northlake/fen-14"' in healthy
    assert 'manufacturer = "Northlake"' in healthy
    assert "seldom leave this blank" not in healthy
    blank = call_in(tmp_path, "profile", "draft", unit_file(UNITS["skerry-13-new-board"])).out
    assert 'id = "drafted/model"' in blank
    assert "seldom leave this blank; was the board programmed? system.serial\n" in blank
    for word in ("serial", "uuid"):
        assert f'attribute = "{word}"\nequals' not in healthy


def test_draft_refuses_an_id_that_is_none_and_a_unit_that_shows_nothing(tmp_path: Path) -> None:
    told = call_in(tmp_path, "profile", "draft", unit_file(HEALTHY_UNIT), "--id", "../x")
    assert told.code == 2
    assert "--id ../x: not allowed" in told.err
    (tmp_path / "empty" / "sys").mkdir(parents=True)
    file = tmp_path / "e.gz"
    assert call_in(tmp_path, "capture", "--root", tmp_path / "empty", "-o", file).code == 0
    told = call_in(tmp_path, "profile", "draft", file)
    assert told.code == 2
    assert "shows nothing that a profile could demand" in told.err


def judged(folder: Path, model: Path, order: str = "") -> Report:
    demands_of = None
    if order:
        demands_of = folder / "order.toml"
        demands_of.write_text(f'work_order = 1\norder = "WO-1"\n{order}')
    demands = load_demands(str(model), demands_of)
    evidence = record(draw_notebook(HEALTHY))
    readout = read_out(evidence)
    return judge_evidence(evidence, readout, demands.terms(readout.inventory, 1))


def test_option_in_a_run(tmp_path: Path) -> None:
    model = write(tmp_path, "slate", WIFI, OPTION)
    report = judged(tmp_path, model)
    asked = [one for one in report.findings if one.rule == "option.reader"]
    assert report.verdict is Verdict.UNDECIDED
    assert [one.outcome for one in asked] == [Outcome.REVIEW]
    assert "looks like with. Is that right?" in report.words["option.reader"].question
    assert "option.reader" in {rule for step in report.first_steps for rule in step.rules}
    chosen = judged(tmp_path, model, '[options]\nreader = "with"\n')
    assert chosen.verdict is Verdict.RELEASE
    assert "usb_device.presence" in {one.rule for one in chosen.findings}
    labelled = judged(tmp_path, model, '[unit]\nsku = "SLATE-2"\n[options]\nreader = "without"\n')
    assert "usb_device.presence" not in {one.rule for one in labelled.findings}
    assert chosen.circumstances.profile_set == profile_set()


@pytest.mark.parametrize(
    ("option", "wrong"),
    [
        ('reader = "maybe"', "options.reader: maybe is no form that slate comes in; allowed:"),
        ('panel = "high"', "allowed: reader = with | without"),
    ],
)
def test_order_that_names_no_form_of_the_model(option: str, wrong: str, tmp_path: Path) -> None:
    model = write(tmp_path, "slate", WIFI, OPTION)
    (tmp_path / "order.toml").write_text(f'work_order = 1\norder = "WO-1"\n[options]\n{option}\n')
    told = call_in(
        tmp_path,
        *("check", "--evidence", unit_file(HEALTHY_UNIT), "--profile", model),
        *("--work-order", tmp_path / "order.toml"),
    )
    assert told.code == 2
    assert wrong in told.err


def test_report_with_an_option_is_written_and_names_chain_and_set(tmp_path: Path) -> None:
    model = write(tmp_path, "slate", WIFI, OPTION.replace("F.*", "no unit"))
    arguments = ("check", "--evidence", unit_file(HEALTHY_UNIT), "--profile", model)
    told = call_in(tmp_path, *arguments)
    assert "1. Which form: reader. The order does not say which reader" in told.out
    facts = json.loads(call_in(tmp_path, *arguments, "--json").out)["circumstances"]
    known = profile_set()
    assert facts["profile_set"] == {
        "name": known.name,
        "revision": known.revision,
        "digest": known.digest,
    }


def test_known_unit_is_judged_without_an_order() -> None:
    profile = load_profile("northlake/fen-14")
    assert isinstance(profile, Profile)
    report = judge_known(HEALTHY_UNIT.evidence(), profile)
    assert report.circumstances.order == ""
    assert report.circumstances.profile.revision == "4 on northlake/fen 1 on northlake 1"


def test_no_licence_key_gets_into_a_draft() -> None:
    table = {"class": "system", "attribute": "family", "weight": "note"}
    assert read_table({**table, "equals": "Fen"})
    assert not read_table({**table, "equals": KEY.decode()})
    assert not read_table({**table, "equals": "\x1b"})
