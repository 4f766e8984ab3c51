"""The long run: every reading of every demo unit, failed in every way. `make failures`.

Prints what was tried, the demands that ask for absence, and whatever passes that must not.
"""

import sys
import tomllib
from collections import Counter

from closeout.kernel.recorded import NOT_RECORDED
from failures.absence import LIST, load_absence
from failures.findings_of_failures import NOT_THERE, fail_every_reading
from failures.rejudged_unit import whole_units
from failures.ways_to_fail import EVERY_WAY

say = sys.stdout.write


def main() -> int:
    """Fails where a reader fell over, or something passed that rests on nothing."""
    wrong = 0
    tried: Counter[str] = Counter()
    for unit in whole_units():
        for way in EVERY_WAY:
            allowed = load_absence() if way.says_absent else frozenset()
            for unrecorded in (NOT_RECORDED, NOT_THERE):
                outcome = fail_every_reading(unit, way, unrecorded)
                tried[way.name] += outcome.readings
                passes = (*outcome.unsupported, *outcome.turned)
                lines = [*outcome.faults, *(str(one) for one in passes if one.rule not in allowed)]
                wrong += len(lines)
                for line in lines:
                    say(f"{unit.name}, {way.name}: {line}\n")
    for name, count in tried.items():
        say(f"{count:8} readings failed by {name}\n")
    say(f"{tried.total():8} in all, {wrong} wrong\n")
    say("demands that ask for absence:\n")
    reasons = tomllib.loads(LIST.read_text(encoding="utf-8"))["met_by_absence"]
    for rule, reason in reasons.items():
        say(f"  {rule}: {reason}\n")
    return 1 if wrong or not tried else 0


if __name__ == "__main__":
    sys.exit(main())
