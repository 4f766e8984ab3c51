"""A model's own words for connections of the repair map."""

import pytest

from closeout.expect.mistake import Mistakes
from closeout.expect.own_connection import with_own_connections
from closeout.expect.profile import Profile, parse_profile
from closeout.expect.repair_map import load_repair_map

MAP = load_repair_map()
HEAD = """profile = 1
id = "a/b"
revision = "1"
title = "A B"
[[demand]]
class = "touchpad"
present = true
weight = "must"
[[connection]]
"""


def parse(text: str) -> Profile | Mistakes:
    return parse_profile("b.toml", (HEAD + text).encode())


def test_the_models_words_stand_in_the_maps_place() -> None:
    profile = parse('id = "touchpad-ribbon"\nplace = "under the pack"\n')
    assert isinstance(profile, Profile)
    changed = with_own_connections(MAP, profile.connections).connections["touchpad-ribbon"]
    assert changed.place == "under the pack"
    assert changed.question == MAP.connections["touchpad-ribbon"].question
    assert {demand.connection for demand in changed.demands} == {"touchpad ribbon, under the pack"}
    assert "under the pack" in changed.entry().advice


def test_what_the_map_does_not_know_changes_nothing() -> None:
    profile = parse('id = "roof-ribbon"\nplace = "above"\n')
    assert isinstance(profile, Profile)
    assert with_own_connections(MAP, profile.connections) == MAP
    assert with_own_connections(MAP, ()) == MAP


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('place = "above"\n', "missing"),
        ('id = "touchpad-ribbon"\n', "nothing is said of it"),
        ('id = "Touchpad ribbon"\nplace = "x"\n', "is not allowed"),
        ('id = "panel-cable"\nweight = "must"\nplace = "x"\n', "no such key"),
        ('id = "panel-cable"\nplace = 7\n', "text is wanted"),
        (
            'id = "panel-cable"\nplace = "x"\n[[connection]]\nid = "panel-cable"\nname = "y"\n',
            "is there already",
        ),
    ],
)
def test_each_mistake_is_told(text: str, said: str) -> None:
    found = parse(text)
    assert isinstance(found, Mistakes)
    assert said in found.show()


def test_an_own_demand_words_of_the_map_stay() -> None:
    profile = parse('id = "speaker-plugs"\nname = "plug of both speakers"\n')
    assert isinstance(profile, Profile)
    changed = with_own_connections(MAP, profile.connections).connections["speaker-plugs"]
    assert changed.name == "plug of both speakers"
    assert changed.demands[0].part == "sound to the speakers"
