"""Inheritance: maker, family, model; what the child says goes before its parent's."""

import json
from hashlib import sha256

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.expect.mistake import Mistakes
from closeout.expect.profile import Profile, parse_profile
from closeout.model.expectation import Equals, Filled, Present
from strategies.profile_chains import SERIAL, WIFI, Files, file, sound, told
from strategies.profiles import demands, profiles, spoilt

CHAIN = {
    "a": file(
        "a",
        'lacks = ["clock-cell"]\nkeyboard_layout = "us"\n',
        '[label.serial]\nprefixes = ["SN"]\n[label.sku]\ncase = "upper"\n',
        '[built_in]\nconnectors = ["eDP-1"]\n',
        WIFI,
        SERIAL,
        base=True,
    ),
    "a/b": file(
        "a/b",
        'lacks = ["fan-plug"]\nkeyboard_layout = "de"\n',
        '[norm]\nblank = ["system.serial"]\n',
        '[built_in]\nconnectors = ["eDP-1"]\nusb_ports = ["1-4"]\n',
        inherits="a",
        base=True,
    ),
    "a/b/c": file(
        "a/b/c",
        '[matches]\nmanufacturer = "A"\nproduct = "C"\n[label.serial]\nhyphens = "drop"\n',
        '[[demand]]\nclass = "wifi"\ndevices_at_least = 2\nweight = "note"\n',
        '[[demand]]\nclass = "battery"\npresent = true\nweight = "must"\n',
        inherits="a/b",
    ),
}


def test_child_goes_before_parent() -> None:
    profile = sound(CHAIN, "a/b/c")
    demanded = {one.rule: one for one in profile.expectations}
    assert set(demanded) == {"wifi.presence", "battery.presence"}, (
        "the norm leaves the serial blank"
    )
    assert demanded["wifi.presence"].demand == Present(at_least=2, at_most=None)
    assert demanded["wifi.presence"].origin == "profile a/b/c"
    assert profile.lacks == ("clock-cell", "fan-plug")
    assert profile.keyboard_layout == "de"
    assert profile.labels["serial"].hyphens == "drop"
    assert profile.labels["serial"].prefixes == ()
    assert profile.labels["sku"].case == "upper"
    assert profile.built_in.connectors == ("eDP-1",)
    assert profile.built_in.usb_ports == ("1-4",)
    assert profile.blank == (("system", "serial"),)
    assert not profile.only_inherited


def test_chain_is_named() -> None:
    profile = sound(CHAIN, "a/b/c")
    assert [one.name for one in profile.chain] == ["a", "a/b", "a/b/c"]
    digests = [sha256(CHAIN[one.name].encode()).hexdigest() for one in profile.chain]
    assert [one.digest for one in profile.chain] == digests
    assert profile.source.name == "a/b/c"
    assert profile.source.revision == "5 on a/b 3 on a 1"


@pytest.mark.parametrize("changed", CHAIN)
def test_digest_is_over_the_whole_chain(changed: str) -> None:
    other = {**CHAIN, changed: CHAIN[changed] + "# more\n"}
    assert sound(other, "a/b/c").digest != sound(CHAIN, "a/b/c").digest


@given(profiles())
def test_profile_that_inherits_nothing_is_itself(tree: dict[str, object]) -> None:
    raw = json.dumps(tree).encode()
    profile = parse_profile("x", raw)
    assert isinstance(profile, Profile)
    assert profile.digest == sha256(raw).hexdigest()
    assert profile.revision == tree["revision"]
    assert [one.digest for one in profile.chain] == [profile.digest]
    empty = {"profile": 1, "id": "z/z/z", "revision": "1", "title": "Z", "inherits": tree["id"]}
    child = parse_profile(
        "y", json.dumps(empty).encode(), lambda _: ("x", raw) if tree["id"] != "z/z/z" else None
    )
    if isinstance(child, Profile):
        assert child.expectations == profile.expectations
        assert child.options == profile.options
        assert child.labels == profile.labels


@given(profiles(), st.lists(demands(), max_size=3), st.randoms(use_true_random=False))
def test_order_of_demands_in_either_file_never_matters(
    parent: dict[str, object], own: list[dict[str, object]], chance: object
) -> None:
    parent["id"] = "p"
    child = {"profile": 1, "id": "c", "revision": "1", "title": "C", "inherits": "p", "demand": own}
    if not own:
        del child["demand"]

    def outcome(upper: dict[str, object], lower: dict[str, object]) -> object:
        raw = json.dumps(upper).encode()
        found = parse_profile("c", json.dumps(lower).encode(), lambda _: ("p", raw))
        if isinstance(found, Mistakes):
            return "mistakes"
        return found.expectations, found.options, found.blank, found.lacks

    mixed_parent = {**parent, "demand": shuffled(parent["demand"], chance)}
    mixed = {**child, "demand": shuffled(own, chance)} if own else child
    assert outcome(parent, child) == outcome(mixed_parent, mixed)


def shuffled(items: object, chance: object) -> list[object]:
    mixed = list(items)  # type: ignore[call-overload]
    chance.shuffle(mixed)  # type: ignore[attr-defined]
    return mixed


@given(spoilt(profiles()), spoilt(profiles()))
def test_lint_is_total_also_with_a_spoilt_parent(
    own: dict[str, object], parent: dict[str, object]
) -> None:
    raw = json.dumps(parent).encode()
    own["inherits"] = parent.get("id", "p")
    outcome = parse_profile("x", json.dumps(own).encode(), lambda _: ("p", raw))
    assert isinstance(outcome, Profile | Mistakes)
    if isinstance(outcome, Mistakes):
        assert all("\n" not in mistake.show() for mistake in outcome.found)


def test_a_drop_takes_one_away_with_its_reason() -> None:
    drop = '[[drop]]\nclass = "wifi"\nreason = "never had one"\n'
    files = {"a": file("a", WIFI, SERIAL, base=True), "a/b": file("a/b", drop, inherits="a")}
    profile = sound(files, "a/b")
    assert [one.rule for one in profile.expectations] == ["system.serial"]
    (dropped,) = profile.dropped
    assert dropped.reason == "never had one"


def test_drop_is_by_class_attribute_and_conditions() -> None:
    where = 'where = { bus = "nvme" }\n'
    parent = f'[[demand]]\nclass = "drive"\npresent = true\nweight = "must"\n{where}'
    drop = f'[[drop]]\nclass = "drive"\nreason = "SATA"\n{where}'
    files = {"a": file("a", parent, SERIAL), "b": file("b", drop, inherits="a")}
    assert [one.rule for one in sound(files, "b").expectations] == ["system.serial"]
    files["b"] = files["b"].replace("nvme", "sata")
    (line,) = told(files, "b")
    assert "drop[1]: no inherited demand has this class, attribute and where" in line


def test_dropping_everything_leaves_nothing_to_release_by() -> None:
    drop = '[[drop]]\nclass = "wifi"\nreason = "never had one"\n'
    files = {"a": file("a", WIFI), "b": file("b", drop, inherits="a")}
    assert told(files, "b") == [
        "b.toml:1: demand: nothing is demanded, so nothing could be released"
    ]


def test_drop_without_inheritance_is_told() -> None:
    drop = '[[drop]]\nclass = "wifi"\nreason = "none"\n'
    (line,) = told({"a": file("a", WIFI, drop)}, "a")
    assert "nothing is inherited, so nothing can be taken away" in line


@pytest.mark.parametrize(
    ("files", "wanted", "wrong"),
    [
        ({"a": file("a", inherits="a")}, "a", "a circle without an end: a inherits a"),
        (
            {"a": file("a", inherits="b"), "b": file("b", inherits="a")},
            "a",
            "a circle without an end: a inherits b, which inherits a",
        ),
        ({"a": file("a", inherits="b")}, "a", "no profile b: none ships"),
        (
            {"a": file("a", inherits="b"), "b": file("b", inherits="c")},
            "a",
            "no profile c, which b inherits: none ships",
        ),
        (
            {str(n): file(str(n), inherits=str(n + 1)) for n in range(6)},
            "0",
            (
                "too long a chain: 0 inherits 1, which inherits 2, which inherits 3, which inherits"
                " 4; allowed: 4 files"
            ),
        ),
    ],
)
def test_a_chain_without_a_good_end_is_one_mistake(files: Files, wanted: str, wrong: str) -> None:
    (line,) = told(files, wanted)
    assert line.startswith(f"{wanted}.toml:5: inherits: {wrong}")


def test_mistakes_of_a_parent_have_its_name() -> None:
    files = {"a": file("a", "colour = 1\n", base=True), "b": file("b", "size = 1\n", inherits="a")}
    lines = told(files, "b")
    assert [line.partition(":")[0] for line in lines] == ["b.toml", "a.toml"]
    files["a"] = "profile = ["
    assert told(files, "b")[1].startswith("a.toml")
    files = {"a": "profile = 2", "b": file("b", inherits="a")}
    assert told(files, "b") == ["a.toml:1: profile: format 2 is not known here; allowed: 1"]
    files = {"a": file("other", WIFI), "b": file("b", inherits="a")}
    assert told(files, "b") == ["a.toml:2: id: a is wanted, by the place of the file"]


def test_contradiction_among_the_parents_is_told_at_inherits() -> None:
    none = '[[demand]]\nclass = "wifi"\ndevices_at_most = 0\nweight = "must"\n'
    some = (
        '[[demand]]\nclass = "wifi"\nattribute = "hard_blocked"\nequals = false\nweight = "must"\n'
    )
    files = {
        "a": file("a", none, base=True),
        "b": file("b", some, inherits="a", base=True),
        "c": file("c", SERIAL, inherits="b"),
    }
    (line,) = told(files, "c")
    assert line == (
        "c.toml:5: inherits: wifi.hard_blocked cannot be met together with a demand of profile a"
    )


def test_base_demands_nothing_and_matches_nothing() -> None:
    assert sound({"a": file("a", base=True)}, "a").only_inherited
    matches = '[matches]\nmanufacturer = "A"\nproduct = "B"\n'
    (line,) = told({"a": file("a", matches, base=True)}, "a")
    assert "a base is for no unit" in line


def test_option_of_the_child_replaces_the_parents() -> None:
    option = (
        '[[option]]\nname = "panel"\nchoice = [{{ name = "{0}", demand = [{{ class = "display",'
        ' attribute = "native_mode", equals = "{1}", weight = "must" }}] }}, {{ name = "x" }}]\n'
    )
    upper, lower = option.format("old", "1x1"), option.format("new", "2x2")
    files = {"a": file("a", upper, base=True), "b": file("b", WIFI, lower, inherits="a")}
    (one,) = sound(files, "b").options
    assert [choice.name for choice in one.choices] == ["new", "x"]
    files["b"] = file("b", WIFI, inherits="a")
    (one,) = sound(files, "b").options
    assert one.choices[0].expectations[0].demand == Equals(value="1x1")


def test_inherited_choice_that_clashes_with_an_own_demand_is_told() -> None:
    option = (
        '[[option]]\nname = "radio"\nchoice = [{ name = "with", demand = [{ class = "wifi",'
        ' attribute = "hard_blocked", equals = false, weight = "must" }] }, { name = "x" }]\n'
    )
    none = '[[demand]]\nclass = "wifi"\ndevices_at_most = 0\nweight = "must"\n'
    files = {"a": file("a", option, base=True), "b": file("b", none, inherits="a")}
    (line,) = told(files, "b")
    assert "demand[1]: wifi.presence cannot be met together with a demand of profile a" in line


def test_norm_takes_filled_out_of_a_choice_too() -> None:
    norm = '[norm]\nblank = ["system.sku"]\n'
    option = (
        '[[option]]\nname = "o"\nchoice = [{ name = "with", demand = [{ class = "system",'
        ' attribute = "sku", filled = true, weight = "must" }] }, { name = "x" }]\n'
    )
    (one,) = sound({"a": file("a", norm, WIFI, option)}, "a").options
    assert one.choices[0].expectations == ()


def test_norm_and_lists_have_no_doubles() -> None:
    twice = '[norm]\nblank = ["system.family", "system.family", "pen.colour", "sys.x", 4]\n'
    lines = told({"a": file("a", 'lacks = ["x", "x"]\n', twice, WIFI)}, "a")
    assert [line.partition(": ")[2].partition(":")[0] for line in lines] == [
        "lacks[2]",
        *(f"norm.blank[{n}]" for n in (2, 3, 4, 5)),
    ]


def test_norm_against_the_own_exact_demand_of_a_later_file() -> None:
    exact = '[[demand]]\nclass = "system"\nattribute = "family"\nequals = "X"\nweight = "note"\n'
    norm = '[norm]\nblank = ["system.family"]\n'
    files = {"a": file("a", norm, base=True), "b": file("b", exact, inherits="a")}
    (line,) = told(files, "b")
    assert "system.family asks for a value that the norm leaves blank" in line
    files = {
        "a": file("a", exact, base=True),
        "b": file("b", norm, base=True, inherits="a"),
        "c": file("c", SERIAL, inherits="b"),
    }
    (line,) = told(files, "c")
    assert "inherits: system.family is left blank, and a demand of profile a asks" in line


def test_filled_stays_where_the_norm_says_nothing() -> None:
    (one,) = sound({"a": file("a", SERIAL)}, "a").expectations
    assert one.demand == Filled()


def test_drop_of_no_known_class() -> None:
    drop = '[[drop]]\nclass = "wlan"\nreason = "none"\n'
    files = {"a": file("a", WIFI), "b": file("b", drop, inherits="a")}
    (line,) = told(files, "b")
    assert "drop[1].class: 'wlan' is not known here" in line


def test_clash_of_the_profile_itself_is_told_once_and_not_for_each_choice() -> None:
    none = '[[demand]]\nclass = "wifi"\ndevices_at_most = 0\nweight = "must"\n'
    option = '[[option]]\nname = "o"\nchoice = [{ name = "a" }, { name = "b" }]\n'
    (line,) = told({"a": file("a", WIFI, none, option)}, "a")
    assert "demand[2]: wifi.presence cannot be met together with the demand on line 5" in line


def test_two_options_do_not_decide_the_same() -> None:
    option = (
        '[[option]]\nname = "{0}"\nchoice = [{{ name = "x", demand = [{{ class = "fan",'
        ' present = true, weight = "must" }}] }}, {{ name = "y" }}]\n'
    )
    (line,) = told({"a": file("a", WIFI, option.format("p"), option.format("q"))}, "a")
    assert "option[2].choice[1].demand[1]: fan.presence is decided by the option p too" in line
