"""The order in which things come never matters: the findings are the same to the byte."""

from dataclasses import replace
from pathlib import Path
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from closeout.check import judge_evidence, read_out
from closeout.cli.terms import load_demands
from closeout.expect.merge import expectations_of
from closeout.expect.shipped import shipped_folder
from closeout.kernel.evidence import Evidence
from closeout.model.finding import Finding
from closeout.model.frozen import replace as replace_fields
from healthy.judged import ANY, FEN, OTHERS, demands_of, judge_on_any, read_unit
from healthy.shown_unit import evidence_of

UNITS = {"fen-14": FEN, **OTHERS}
PROFILES = (ANY, "northlake/fen-14", "quillmark/osier-15", "tarnfell/skerry-13")
HEAD_OF_DEMAND = "[[demand]]\n"


@settings(max_examples=3)
@given(random=st.randoms(use_true_random=False))
def test_of_the_records(random: Random) -> None:
    evidence = evidence_of(FEN)

    def judged(records: list[object]) -> bytes:
        mixed = Evidence(header=evidence.header, records=tuple(records))  # type: ignore[arg-type]
        readout = read_out(mixed)
        terms = demands_of(FEN.order).terms(readout.inventory, 1)
        return repr(judge_evidence(evidence, readout, terms).findings).encode()

    records: list[object] = list(evidence.records)
    assert judged(random.sample(records, len(records))) == judged(records)


@settings(max_examples=3)
@given(random=st.randoms(use_true_random=False))
def test_of_the_demands_that_are_judged(random: Random) -> None:
    readout = read_unit(FEN)
    terms = demands_of(FEN.order).terms(readout.inventory, 1)

    def judged(expectations: tuple[object, ...]) -> tuple[Finding, ...]:
        profile = replace_fields(terms.profile, expectations=expectations)
        mixed = replace_fields(terms, profile=profile)
        return judge_evidence(evidence_of(FEN), readout, mixed).findings

    given_order = terms.profile.expectations
    mixed = tuple(random.sample(given_order, len(given_order)))
    assert repr(judged(mixed)) == repr(judged(given_order))


@pytest.mark.parametrize("name", PROFILES)
@settings(max_examples=3)
@given(random=st.randoms(use_true_random=False))
def test_of_the_demands_in_a_profiles_file(
    name: str, random: Random, tmp_path_factory: pytest.TempPathFactory
) -> None:
    file = shipped_folder("profiles") / f"{name}.toml"
    head, *demands = file.read_text(encoding="utf-8").split(HEAD_OF_DEMAND)
    assert len(demands) > 20
    random.shuffle(demands)
    mixed = tmp_path_factory.mktemp("mixed") / file.name
    mixed.write_text(
        HEAD_OF_DEMAND.join([head, *(f"{one}\n" for one in demands)]), encoding="utf-8"
    )
    assert expected(mixed) == expected(file)


def expected(file: Path) -> str:
    """What the profile in a file demands of a unit without an order."""
    profile = load_demands(str(file), None).named_profile
    assert profile is not None
    return repr(expectations_of(profile, None))


@pytest.mark.parametrize("name", UNITS)
@pytest.mark.parametrize("seed", [1, 2])
def test_of_the_names_in_every_folder(name: str, seed: int) -> None:
    """As a file system may list them; ours are sorted, another's evidence need not be."""
    chance = Random(seed)  # noqa: S311 - no secret
    unit = UNITS[name]
    mixed = {
        question: tuple(chance.sample(answer, len(answer))) if isinstance(answer, tuple) else answer
        for question, answer in unit.answers.items()
    }
    assert mixed != unit.answers
    shuffled = replace(unit, answers=mixed)
    found = judge_on_any(shuffled, read_unit(shuffled)).findings
    assert repr(found) == repr(judge_on_any(unit, read_unit(unit)).findings)
