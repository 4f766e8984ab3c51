"""What a small depot adds up to."""

from closeout.depot.old_sticks import Stale
from closeout.depot.statistics.wilson import share_of
from closeout.depot.summary import Lost, Often, Returned, Summary, Tally, Terms


def tally_of(name: str) -> Tally:
    """What a few orders add up to."""
    return Tally(
        name=name,
        first=share_of(7, 10),
        final=share_of(9, 10),
        findings=(Often(name=name, orders=4, open=3, kept_back=2),),
        reseats=(Often(name=name, orders=3),),
        lost=(Lost(rule=name, minutes=12.5, pauses=2, unproven=1),),
    )


def summary_of(name: str) -> Summary:
    """A small summary with this text wherever a text can come from outside."""
    whole = tally_of(name)
    back = Returned(unit=name, model=name, station=name, order=name, next_order=name, days=3)
    stale = Stale(station=name, what="stick build", version=name, newest=name, days=40, used=0)
    return Summary(
        terms=Terms(days=30, stale_days=30, now=1_800_000_000, only={"station": name}),
        units=9,
        first=1_790_000_000,
        last=1_795_000_000,
        attempts=13,
        drafts=1,
        unrun={name: 2},
        whole=whole,
        by=dict.fromkeys(("model", "repair", "station", "week"), (whole,)),
        returns=share_of(1, 8),
        returned=(back,),
        stale=(stale,),
    )
