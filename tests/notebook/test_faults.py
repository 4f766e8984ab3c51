"""The fault matrix without an emulator: its files, the pairs, the comparison, the table."""

import gzip
import json
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from closeout.expect.merge import expectations_of
from closeout.expect.parts import parts_of
from closeout.kernel.evidence_file import decode_evidence, encode_evidence
from closeout.model.frozen import replace as replace_frozen
from notebook.description import DescriptionError
from notebook.matrix import whole
from notebook.matrix.case import Case, count_masked, draw_pairs, is_masked, singles
from notebook.matrix.command import page, show
from notebook.matrix.comparison import compare
from notebook.matrix.fault import LEVELS, Fault, Told, find_mistakes, load_faults
from notebook.matrix.healthy import load_healthy
from notebook.matrix.outcome import find_leaning, judge_run
from notebook.matrix.planting import unknown_words
from notebook.matrix.replay import demands_of_files, read, replays, report_again
from notebook.matrix.running import Run, demands_of
from notebook.matrix.table import show_table
from notebook.matrix.whole import Choice, Matrix, choose
from notebook.template import can_be_kept

FAULTS = load_faults()
NOTEBOOKS = ("fen-14", "osier-15", "skerry-13")
RECORDED = Path(__file__).parent / "fixtures" / "osier-15" / "root" / "unit.jsonl.gz"
HOT = Told(rule="fan.speed_rpm", subject="s/fan1", outcome="fail", expected="e", found="0 rpm")

STOPPED = Told(
    rule="fan.speed_rpm",
    subject="sys/devices/platform/PNP0C0B:00/hwmon/acpi_fan/fan1",
    outcome="fail",
    expected="at least 500 rpm",
    found="0 rpm",
)


def fault(name: str, *finding: Told, change: dict[str, object] | None = None) -> Fault:
    return Fault(
        name=name,
        title="a fault",
        level="device",
        sort="sensors",
        change={"fan.rpm": 0} if change is None else change,
        finding=finding,
        notebook="osier-15",
    )


# ---- the files


def test_what_no_snapshot_can_hold_is_known() -> None:
    """The state of a network port on USB (`usb-net` blocks it); such a case starts cold."""
    (docked,) = (one for one in load_healthy() if one.name == "docked")
    assert not can_be_kept(Case(notebook=docked.notebook, healthy=docked).variant().started)
    assert can_be_kept(Case(notebook=docked.notebook).variant().started)


def test_enough_faults_and_most_of_them_at_devices_and_tables() -> None:
    assert len(FAULTS) >= 60
    assert sum(one.level in ("device", "table") for one in FAULTS) >= 45
    assert {one.level for one in FAULTS} == set(LEVELS)
    assert {one.notebook for one in FAULTS} == set(NOTEBOOKS)


@pytest.mark.parametrize("one", FAULTS, ids=lambda one: one.case)
def test_each_fault_changes_what_there_is(one: Fault) -> None:
    """The description takes the change, and is another one by it, or something is planted."""
    variant = Case(notebook=one.notebook, faults=(one,)).variant()
    healthy = Case(notebook=one.notebook).variant().started
    assert variant.shown != healthy or one.plant
    assert list(unknown_words(one.plant)) == []


@pytest.mark.parametrize("notebook", NOTEBOOKS)
def test_each_rule_that_a_fault_names_is_demanded_of_its_notebook(notebook: str) -> None:
    demands = demands_of(Case(notebook=notebook))
    inventory = read(RECORDED.read_bytes())[1].inventory
    terms = demands_of_files(demands.profile, demands.order).terms(inventory, 1)
    demanded = {
        one.rule
        for one in expectations_of(terms.profile, terms.work_order, terms.repair_map, terms.repairs)
    }
    demanded |= {
        one.rule
        for part in parts_of(terms.profile, terms.work_order)
        for one in (part.presence, *part.demands)
    }
    named = {told.rule for one in FAULTS if one.notebook == notebook for told in one.finding}
    assert named
    assert named <= demanded


def test_a_part_whose_driver_or_firmware_is_missing_is_never_called_missing() -> None:
    uncovered = [one for one in FAULTS if one.sort == "driver"]
    assert uncovered
    for one in uncovered:
        presence = [told for told in one.finding if told.rule.endswith(".presence")]
        assert {told.outcome for told in presence} == {"uncovered"}


def test_enough_healthy_variations_and_each_is_one() -> None:
    variations = load_healthy()
    assert len(variations) >= 50
    for one in variations:
        case = Case(notebook=one.notebook, healthy=one)
        assert case.variant().shown != Case(notebook=one.notebook).variant().shown
        assert demands_of(case)


def test_the_few_stand_for_every_class_and_every_notebook() -> None:
    few = [one for one in FAULTS if one.few]
    assert {one.notebook for one in few} == set(NOTEBOOKS)
    assert {one.sort for one in few} >= {one.sort for one in FAULTS} - {"licence"}


@pytest.mark.parametrize(
    ("mistaken", "said"),
    [
        (fault("Wrong Name", HOT), "small letters"),
        (fault("idle", HOT, change={}), "it changes nothing"),
        (fault("silent"), "it leads to no finding"),
        (fault("passing", replace(HOT, outcome="pass")), "is none of"),
    ],
)
def test_a_mistaken_fault_is_told(mistaken: Fault, said: str) -> None:
    assert any(said in mistake for mistake in find_mistakes([mistaken]))


def test_two_of_one_name_are_told() -> None:
    assert any("two of that name" in one for one in find_mistakes([fault("a", HOT)] * 2))


def test_a_key_that_nobody_knows_is_told(tmp_path: Path) -> None:
    (tmp_path / "osier-15.toml").write_text('[[fault]]\nname = "x"\ncolour = "red"\n')
    with pytest.raises(DescriptionError, match=r"osier-15\.toml: x"):
        load_faults(tmp_path)


# ---- the pairs


def test_pairs_are_the_same_for_the_same_seed_and_none_is_masked() -> None:
    pairs = draw_pairs(FAULTS, 200, 7)
    assert pairs == draw_pairs(FAULTS, 200, 7) != draw_pairs(FAULTS, 200, 8)
    assert len({pair.name for pair in pairs}) == 200
    assert all(one.notebook == other.notebook for one, other in (pair.faults for pair in pairs))
    assert not any(is_masked(*pair.faults) for pair in pairs)


def test_a_pair_is_masked_by_what_the_files_say() -> None:
    fan = fault("fan", HOT)
    other = replace(HOT, rule="lid_switch.closed")
    assert is_masked(fan, fault("same-part", other, change={"fan.rpm": 9}))
    assert is_masked(fan, fault("same-finding", HOT, change={"lid.open": False}))
    assert not is_masked(fan, fault("lid", other, change={"lid.open": False}))
    both = count_masked([fan, fault("same-finding", HOT, change={"lid.open": False})])
    assert both == (1, 1)


def test_more_pairs_than_there_are_is_said() -> None:
    with pytest.raises(ValueError, match="there are 0 pairs"):
        draw_pairs(FAULTS[:1], 3)


def test_cases_are_chosen_by_name() -> None:
    one, other = [told.name for told in FAULTS if told.notebook == "osier-15" and told.few][:2]
    (pair,) = choose(Choice(names=(f"osier-15/{one}+{other}",)))
    assert [told.name for told in pair.faults] == [one, other]
    (variation,) = choose(Choice(names=("osier-15/pack-full",)))
    assert variation.healthy
    with pytest.raises(DescriptionError, match="there is no fault"):
        choose(Choice(names=("osier-15/none-such",)))


# ---- the comparison


def compared(found: Sequence[Told], healthy: Sequence[Told] = ()) -> tuple[bool, bool, int]:
    case = Case(notebook="osier-15", faults=(fault("fan-stopped", HOT),))
    result = compare(case, found, healthy)
    (named,) = result.named
    return named.caught, named.right, len(result.alarms)


def test_what_is_named_word_for_word_is_right() -> None:
    assert compared([HOT]) == (True, True, 0)


def test_what_is_not_there_is_not_caught() -> None:
    assert compared([]) == (False, False, 0)


@pytest.mark.parametrize(
    "wrong",
    [
        replace(HOT, found="1 rpm"),
        replace(HOT, expected="other"),
        replace(HOT, outcome="unread"),
        replace(HOT, subject="s/fan2"),
    ],
)
def test_a_word_that_differs_is_caught_and_not_named_right(wrong: Told) -> None:
    assert compared([wrong]) == (True, False, 1)


def test_what_no_fault_leads_to_is_a_false_alarm_unless_a_healthy_one_is_told_it_too() -> None:
    other = replace(HOT, rule="wifi.presence")
    assert compared([HOT, other]) == (True, True, 1)
    assert compared([HOT, other], [other]) == (True, True, 0)


def test_what_only_a_healthy_one_is_told_was_hidden() -> None:
    case = Case(notebook="osier-15", faults=(fault("fan-stopped", HOT),))
    other = replace(HOT, rule="wifi.presence")
    assert compare(case, [HOT], [other]).lost == (other,)


def test_numbers_of_the_kernel_may_stay_open_in_a_subject() -> None:
    open_number = replace(HOT, subject="s/fan*")
    assert open_number.covers(HOT)
    assert not open_number.covers(replace(HOT, subject="t/fan1"))
    assert not replace(HOT, found="*").covers(HOT)


# ---- a run judged outside, on what was once recorded


@pytest.fixture(scope="module")
def run() -> Run:
    """The recorded notebook as if it had just been checked; a recording has no right time."""
    demands = demands_of(Case(notebook="osier-15"))
    made = Run(
        case="osier-15/healthy",
        status=3,
        report={"findings": []},
        evidence=RECORDED.read_bytes(),
        profile=demands.profile,
        order=demands.order,
        woke_after=0,
        seconds=1,
    )
    return told_by(made)


def told_by(run: Run) -> Run:
    """The run with the findings that its evidence leads to."""
    findings = [
        {
            "rule": found.rule,
            "subject": found.subject,
            "outcome": found.outcome.value,
            "expected": found.expected,
            "found": found.found,
        }
        for found in report_again(run, run.profile, run.order).findings
    ]
    return replace(run, report={"findings": findings})


def test_evidence_is_held_against_what_it_led_to_inside(run: Run) -> None:
    assert replays(run)
    other = [{**run.report["findings"][0], "found": "something else"}]
    assert not replays(replace(run, report={"findings": other}))


def test_a_healthy_run_is_released(run: Run) -> None:
    outcome = judge_run(Case(notebook="osier-15"), run, run)
    assert outcome.troubles == ()
    assert json.loads(gzip.decompress(run.evidence).splitlines()[0])


def test_a_planted_wrong_expectation_makes_the_matrix_fail(run: Run) -> None:
    """What the notebook does not show cannot be named; nor does a deleted rule then matter."""
    case = Case(notebook="osier-15", faults=(fault("fan-stopped", HOT),))
    outcome = judge_run(case, replace(run, case=case.name), run)
    assert outcome.troubles == (
        "fan-stopped is not caught",
        f"fan-stopped does not lead to: {HOT.show()}",
    )
    assert not Matrix(outcomes=[outcome]).is_right
    assert Matrix().is_right
    assert not Matrix(troubles=["not run"]).is_right


def stopped(run: Run, name: str) -> Run:
    """The same notebook with its fan standing still, and what that leads to."""
    evidence = decode_evidence(run.evidence)
    records = tuple(
        replace_frozen(record, answer=b"0\n") if record.answer == b"2740\n" else record
        for record in evidence.records
    )
    raw = encode_evidence(replace_frozen(evidence, records=records))
    return told_by(replace(run, case=name, evidence=raw))


def test_a_deleted_rule_is_missed_by_exactly_its_faults(run: Run) -> None:
    case = Case(notebook="osier-15", faults=(fault("fan-stopped", STOPPED),))
    faulty = stopped(run, case.name)
    assert judge_run(case, faulty, run).troubles == ()
    assert list(find_leaning({case.name: faulty, run.case: run}, [case])) == []


def test_a_fault_that_is_wrong_without_a_rule_that_it_does_not_name_is_told(run: Run) -> None:
    lid = replace(HOT, rule="lid_switch.closed")
    good = Case(notebook="osier-15", faults=(fault("fan-stopped", STOPPED),))
    bad = Case(notebook="osier-15", faults=(fault("lid-stuck", lid, change={"lid.open": 0}),))
    runs = {good.name: stopped(run, good.name), bad.name: run, run.case: run}
    assert list(find_leaning(runs, [good, bad])) == [
        "without fan.speed_rpm: wrong too: osier-15/lid-stuck"
    ]


# ---- the table


def test_the_table_counts_by_level_and_class(run: Run) -> None:
    good = judge_run(Case(notebook="osier-15"), run, run)
    case = Case(notebook="osier-15", faults=(fault("fan-stopped", HOT),))
    missed = judge_run(case, replace(run, case=case.name), run)
    shown = show_table([good, missed])
    cells = {
        line.split("|")[1].strip(): [int(cell) for cell in line.split("|")[2:6]]
        for line in shown.splitlines()[2:]
    }
    assert cells["single faults"] == [1, 0, 0, 0]
    assert cells["level: device"] == [1, 0, 0, 0]
    assert cells["level: table"] == [0, 0, 0, 0]
    assert cells["class: sensors"] == [1, 0, 0, 0]
    assert cells["1 healthy variations"] == [0, 0, 0, 0]
    assert cells["faults of 0 pairs"] == [0, 0, 0, 0]
    told = show(Matrix(outcomes=[good, missed]))
    assert "osier-15/fan-stopped: fan-stopped is not caught" in told
    assert "masked" in page(told, Choice())


def test_every_single_fault_is_a_case() -> None:
    assert [case.name for case in singles(FAULTS)] == [one.case for one in FAULTS]


def test_a_case_that_could_not_be_run_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(case: Case, image: object) -> Run:
        raise RuntimeError(f"{case.name}: {image}")

    monkeypatch.setattr(whole, "run_case", refuse)
    told = whole.attempt(Case(notebook="osier-15"), None)  # type: ignore[arg-type]  # not reached
    assert told == "RuntimeError: osier-15/healthy: None"


def test_a_deadline_that_nothing_planted_explains_is_tried_once_more(
    monkeypatch: pytest.MonkeyPatch, run: Run
) -> None:
    late = {**run.report["findings"][0], "outcome": "unread", "found": "not read (DEADLINE): wait"}
    busy = replace(run, report={"findings": [late]})
    runs = iter([busy, run, busy, busy])
    monkeypatch.setattr(whole, "run_case", lambda *_: next(runs))
    healthy = Case(notebook="osier-15")
    assert whole.attempt(healthy, None) is run  # type: ignore[arg-type]  # not reached
    assert whole.attempt(healthy, None) is busy  # type: ignore[arg-type]  # not reached


def test_a_planted_hang_is_no_busy_host() -> None:
    hang = replace(HOT, outcome="unread", found="not read (DEADLINE): wait")
    case = Case(notebook="osier-15", faults=(fault("hang", hang),))
    assert list(whole.unplanted_deadlines(case, [hang])) == []
    assert list(whole.unplanted_deadlines(Case(notebook="osier-15"), [hang, HOT])) == [hang]
