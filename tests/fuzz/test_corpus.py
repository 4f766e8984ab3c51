"""Every seed of the corpus is taken or refused, by every target; and no decoder is left out."""

from collections.abc import Iterator

import pytest

from closeout.cli.demo import demo_units
from closeout.expect.shipped import shipped_folder
from fuzz.corpus import CORPUS, seeds_of
from fuzz.targets import (
    BY_HAND,
    REACHED,
    REFUSALS,
    find_decoders,
    targets,
    use_up,
    wanted_of,
)


def test_every_decoder_is_a_target_or_reached_by_one() -> None:
    alone = set(targets())
    assert {name for name in find_decoders() if name not in alone} == set(REACHED)
    assert set(REACHED.values()) <= alone
    for name in BY_HAND:
        function = find_decoders().get(name)
        assert function is None or len(wanted_of(function)) > 1


@pytest.mark.parametrize("name", targets())
def test_every_seed_is_taken_or_refused(name: str) -> None:
    run = targets()[name].run
    seeds = tuple(seeds_of(name))
    assert seeds
    for seed in seeds:
        try:
            run(seed)
        except REFUSALS:
            continue


def test_no_seed_is_nobodys() -> None:
    assert {file.name for file in CORPUS.iterdir()} <= set(targets())


def test_shipped_files_are_taken() -> None:
    for unit in demo_units():
        targets()["evidence"].run((unit.folder / "unit.jsonl.gz").read_bytes())
    for path in sorted((shipped_folder("reports") / "examples").glob("*.json")):
        targets()["report"].run(path.read_bytes())


def test_a_decoder_that_yields_is_run_to_its_end() -> None:
    def decode() -> Iterator[int]:
        yield 1
        raise ValueError("reached")

    with pytest.raises(ValueError, match="reached"):
        use_up(decode())
