"""What a small depot adds up to."""

from closeout.depot.statistics.wilson import share_of
from closeout.depot.summary import Lost, Often, Returned, Stale, Summary, Terms, Yield


def summary_of(name: str) -> Summary:
    """A small summary with this text wherever a text can come from outside."""
    group = (Yield(name=name, first=share_of(7, 10), final=share_of(9, 10)),)
    back = Returned(unit=name, model=name, station=name, order=name, next_order=name, days=3)
    stale = Stale(station=name, what="stick build", version=name, newest=name, days=40, used=0)
    return Summary(
        terms=Terms(days=30, stale_days=30, now=1_800_000_000),
        units=9,
        first=1_790_000_000,
        last=1_795_000_000,
        attempts=13,
        drafts=1,
        unrun={name: 2},
        whole=Yield(name="all", first=share_of(7, 10), final=share_of(9, 10)),
        by={"model": group, "repair": group, "station": group, "week": group},
        findings=(Often(name=name, orders=4, kept_back=2),),
        reseats=(Often(name=name, orders=3),),
        lost=(Lost(rule=name, minutes=12.5, pauses=2, unproven=1),),
        returns=share_of(1, 8),
        returned=(back,),
        stale=(stale,),
    )
