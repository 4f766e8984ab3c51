"""What to do first, and the reasons of a verdict."""

from dataclasses import replace

from closeout.judge.demands import judge_inventory
from closeout.judge.steps import MOST_STEPS, explain, first_steps
from closeout.model.expectation import Empty, Expectation, Filled, MatchesOrder, Weight
from closeout.model.finding import Answer, Concession, Finding, Reply
from closeout.model.inventory import Inventory
from closeout.model.reading import Unreadable
from closeout.model.storage import NOT_TOLD
from closeout.model.verdict import Verdict, decide
from strategies.demands import PRESENT, expect, whole_catalogue
from strategies.devices import BLANK, DENIED, device, inventory

CATALOGUE = whole_catalogue()


def judge(unit: Inventory, *expectations: Expectation) -> tuple[Finding, ...]:
    return judge_inventory(unit, expectations, CATALOGUE)


def reasons(findings: tuple[Finding, ...]) -> tuple[str, ...]:
    return explain(decide(findings), findings, CATALOGUE)


def test_what_holds_the_unit_comes_before_what_is_open_and_what_only_should_be() -> None:
    unit = inventory(device("system", serial=DENIED, sku=BLANK), device("battery", serial=BLANK))
    findings = judge(
        unit,
        expect("system", "sku", Filled(), Weight.SHOULD),
        expect("system", "serial", Filled()),
        expect("battery", "serial", Filled()),
        expect("wifi", "", PRESENT, Weight.NOTE),
    )
    steps = first_steps(findings, CATALOGUE)
    assert [step.rules for step in steps] == [
        ("battery.serial",),
        ("system.serial",),
        ("system.sku",),
    ]
    assert steps[0].action == "advice for battery.serial."
    assert "run as root" in steps[1].action


def test_three_at_the_most_and_one_for_the_same_action() -> None:
    unit = inventory(device("system", serial=DENIED, uuid=DENIED, sku=DENIED))
    same = judge(unit, *(expect("system", name, Filled()) for name in ("serial", "uuid", "sku")))
    (step,) = first_steps(same, CATALOGUE)
    assert step.rules == ("system.serial", "system.sku", "system.uuid")
    kinds = ("battery", "wifi", "drive", "display")
    many = judge(inventory(), *(expect(kind, "", PRESENT) for kind in kinds))
    assert len(first_steps(many, CATALOGUE)) == MOST_STEPS


def test_the_connection_that_the_profile_names_is_in_the_step() -> None:
    demand = expect(
        "usb_device",
        "",
        PRESENT,
        part="fingerprint reader",
        connection="ribbon under the palm rest",
    )
    (step,) = first_steps(judge(inventory(), demand), CATALOGUE)
    assert "ribbon under the palm rest" in step.action
    assert step.title == "Fingerprint reader"


def test_the_reasons_name_every_finding_that_decided_and_nothing_else() -> None:
    unit = inventory(device("system", serial=BLANK, uuid=DENIED, product="Skerry"))
    demands = [expect("system", name, Filled()) for name in ("serial", "uuid", "product")]
    held = reasons(judge(unit, *demands))
    assert len(held) == 1
    assert "title of system.serial" in held[0]
    assert "blank" in held[0]
    (undecided,) = reasons(judge(unit, *demands[1:]))
    assert "could not be read (EACCES)" in undecided
    (released,) = reasons(judge(unit, demands[2]))
    assert released == "the demand is met"
    assert reasons(()) == ("nothing was demanded, so nothing can be released",)


def test_a_concession_is_printed_in_full() -> None:
    (failed,) = judge(inventory(), expect("wifi", "", PRESENT))
    conceded = replace(failed, concession=Concession(by="L7", reason="customer has no radio"))
    assert decide([conceded]) is Verdict.RELEASE
    reason, total = explain(Verdict.RELEASE, [conceded], CATALOGUE)
    assert reason.startswith("release with concession: title of wifi.presence:")
    assert reason.endswith("conceded by L7: customer has no radio")
    assert total == "0 of 1 demands are met, 1 conceded"
    (held,) = judge(inventory(), expect("battery", "", PRESENT))
    deciding, beside = explain(Verdict.HOLD, [conceded, held], CATALOGUE)
    assert deciding.startswith("title of battery.presence:")
    assert beside.startswith("conceded: title of wifi.presence:")


def test_an_answer_stands_in_the_reason() -> None:
    (finding,) = judge(inventory(device("wifi")), expect("wifi", "", PRESENT))
    refused = replace(finding, answer=Answer(reply=Reply.NO, by="T2", reason="no light"))
    (reason,) = explain(decide([refused]), [refused], CATALOGUE)
    assert reason.endswith("answered no")
    assert first_steps([refused], CATALOGUE)[0].action == "advice for wifi.presence."


def test_an_uncovered_part_asks_its_question() -> None:
    card = device("pci_device", class_code="028000")
    (step,) = first_steps(judge(inventory(card), expect("wifi", "", PRESENT)), CATALOGUE)
    assert "question of wifi.presence?" in step.action


def test_a_review_asks_its_question() -> None:
    unit = inventory(device("system", serial="N1"))
    demand = expect("system", "serial", MatchesOrder(value=None))
    (step,) = first_steps(judge(unit, demand), CATALOGUE)
    assert step.action == "question of system.serial?"


def test_where_nothing_is_seen_the_step_is_that_of_a_missing_part() -> None:
    """Nothing was demanded to be there, so nothing is missing; but a part may be left out."""
    demand = expect("drive", "critical_warnings", Filled())
    present = replace(CATALOGUE.entries["drive.presence"], caution="Switch off first.")
    careful = replace(CATALOGUE, entries={**CATALOGUE.entries, "drive.presence": present})
    (step,) = first_steps(judge(inventory(), demand), careful)
    assert step.action == "None is seen. If there should be one: advice for drive.presence."
    assert (step.title, step.caution) == ("title of drive.critical_warnings", "Switch off first.")


def test_what_the_machine_does_not_tell_is_asked_of_a_person() -> None:
    """Another look at it would tell no more; where a look may, the step is that look."""
    untold, denied = device("drive", critical_warnings=NOT_TOLD), device("drive", model=DENIED)
    demands = (expect("drive", "critical_warnings", Empty()), expect("drive", "model", Filled()))
    (asked,) = first_steps(judge(inventory(untold), demands[0]), CATALOGUE)
    question = "question of drive.critical_warnings?"
    assert asked.action == f"The machine does not tell it. {question}"
    (looked,) = first_steps(judge(inventory(denied), demands[1]), CATALOGUE)
    assert "run as root" in looked.action


def test_a_class_that_could_not_be_listed_wants_another_look() -> None:
    gap = Unreadable(error="EIO", advice="reseat the part", sources=("sys/class/power_supply",))
    (step,) = first_steps(judge(inventory(battery=gap), expect("battery", "", PRESENT)), CATALOGUE)
    assert "reseat the part" in step.action
