"""Radio rules in force, asked of a drawn kernel."""

import errno

from closeout.model.network import Regulatory
from closeout.model.reading import Absent, Unreadable
from closeout.readers.regulatory import PLACE, QUESTION, find_rules, read_rules
from strategies.drawn_tree import Content, DrawnTree
from strategies.netlink import domain, done, rule
from strategies.shown import value_of, values_of

PASSIVE = 1 << 7
LOW, HIGH = (2_400_000, 2_483_000), (5_170_000, 5_250_000)


def rules(answer: Content) -> Regulatory:
    return read_rules(DrawnTree(answers={QUESTION: answer}), PLACE)


def test_the_worlds_rules_are_told_with_what_they_cost() -> None:
    dump = domain("00", [rule(*LOW), rule(*HIGH, PASSIVE)])
    assert values_of(rules(dump + done())) == {
        "country": "00",
        "is_world": True,
        "bands": ("2.4 GHz", "5 GHz"),
        "listen_only_bands": ("5 GHz",),
        "own_rules": (),
    }


def test_a_radio_may_bring_rules_of_its_own() -> None:
    dump = domain("DE", [rule(*LOW), rule(*HIGH)]) + domain("US", [rule(*LOW)], radio=0)
    found = rules(dump + done())
    assert value_of(found.country) == "DE"
    assert value_of(found.is_world) is False
    assert value_of(found.listen_only_bands) == ()
    assert value_of(found.own_rules) == ("phy0: US",)


def test_no_answer_nonsense_and_an_empty_dump_are_kept_apart() -> None:
    assert isinstance(rules(done()).country, Absent)
    assert value_of(rules(done()).own_rules) == ()
    refused, nonsense = rules(errno.EPERM).country, rules(b"\1").country
    assert isinstance(refused, Unreadable)
    assert isinstance(nonsense, Unreadable)
    assert (refused.error, nonsense.error) == ("EPERM", "MALFORMED")


def test_there_are_rules_where_there_is_a_radio() -> None:
    assert value_of(find_rules(DrawnTree(folders=("sys/class/ieee80211/phy0",)))) == (PLACE,)
    assert value_of(find_rules(DrawnTree(folders=("sys/class/net",)))) == ()
    denied = DrawnTree(files={"sys/class/ieee80211": errno.EACCES})
    assert isinstance(find_rules(denied), Unreadable)
