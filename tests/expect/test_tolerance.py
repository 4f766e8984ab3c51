"""Tolerances: a number, how far off it may be, and who says so."""

from closeout.model.expectation import Within
from strategies.profile_chains import file, sound, told


def test_tolerances() -> None:
    demand = (
        '[[demand]]\nclass = "battery"\nattribute = "energy_full_design_uwh"\nweight = "must"\n'
        'equals = 50_000_000\nsource = "table 4"\n{0}'
    )
    files = {"a": file("a", demand.format("tolerance = 2_000_000\n"))}
    (one,) = sound(files, "a").expectations
    assert one.demand == Within(low=48_000_000, high=52_000_000)
    assert one.origin == "profile a (table 4; 50000000 with a tolerance of 2000000)"
    files = {"a": file("a", demand.format("tolerance_percent = 3\n"))}
    (one,) = sound(files, "a").expectations
    assert one.demand == Within(low=48_500_000, high=51_500_000)
    assert one.origin == "profile a (table 4; 50000000 with a tolerance of 3 %)"
    for wrong, words in (
        ("tolerance = 0\n", "0 is no tolerance"),
        ("tolerance_percent = 100\n", "takes in everything from 0 on"),
        ("tolerance = 1\ntolerance_percent = 1\n", "and not both"),
        ("tolerance = 1\nfilled = true\n", "one demand each"),
    ):
        assert any(words in line for line in told({"a": file("a", demand.format(wrong))}, "a"))
    at_least = demand.replace("equals", "at_least").format("tolerance = 2\n")
    assert "goes with equals" in told({"a": file("a", at_least)}, "a")[0]
    tiny = demand.replace("50_000_000", "5").format("tolerance = 2\n")
    assert "cannot be meant" in told({"a": file("a", tiny)}, "a")[0]
    wide = demand.replace("50_000_000", "2_000_000").format("tolerance = 9_000_000\n")
    (one,) = sound({"a": file("a", wide)}, "a").expectations
    assert one.demand == Within(low=0, high=11_000_000)
