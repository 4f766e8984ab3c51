"""The questions of summary and collisions as a person would write them for DuckDB alone."""

from typing import Final

JUDGED: Final = """
create temp table judged as
select *, case when work_order <> '' then work_order else unit end as job
from report where kind = 'judged'
"""
ROUNDS: Final = """
create temp table rounds as
with once as (
  select job, attempt, evidence_digest, arg_max(id, revision) as report_id,
         min(station) as station, min(started_at) as started, max(finished_at) as finished
  from judged group by job, attempt, evidence_digest),
placed as (
  select *, max(started) over (partition by job, station
                               order by attempt, started, evidence_digest) as moment from once)
select job, report_id, started, finished, row_number() over line as place,
       lead(started) over line as next_started
from placed
window line as (partition by job order by moment, attempt, started, evidence_digest)
"""
ENDS: Final = """
create temp table ends as
with firsts as (
  select job, arg_min(report_id, place) as first_id, arg_max(report_id, place) as last_id
  from rounds group by job)
select f.job, f.first_id, f.last_id, a.unit, a.model, a.profile_digest, a.repairs, a.station,
       a.week,
       a.verdict as first_verdict, a.started_at as first_started,
       b.verdict as last_verdict, b.finished_at as last_finished
from firsts f join report a on a.id = f.first_id join report b on b.id = f.last_id
"""
FOLLOWED: Final = """
create temp table followed as
with several as (
  select * from ends where unit in (select unit from ends group by unit having count(*) > 1)),
pairs as (
  select a.job, min_by(b.job, b.first_started) as next_job, min(b.first_started) as next_started
  from several a join several b on a.unit = b.unit and b.first_started > a.last_finished
  group by a.job)
select e.*, next_job, next_started from ends e left join pairs using (job)
where last_verdict = 'release'
"""
SHOWS: Final = """weight in ('must', 'should') and (outcome = 'fail' or answer = 'no'
  or (outcome in ('review', 'unread', 'uncovered') and answer <> 'yes'))"""
FAILED: Final = "weight in ('must', 'should') and (outcome = 'fail' or answer = 'no')"

SUMMARY: Final = (
    JUDGED,
    ROUNDS,
    ENDS,
    FOLLOWED,
    "select count(distinct unit), min(started_at), max(finished_at) from judged",
    "select kind, why_unrun, count(*) from report group by all",
    *(
        f"""select {by}, count(*), count(*) filter (where first_verdict = 'release'),
            count(*) filter (where last_verdict = 'release') from ends group by {by}"""  # noqa: S608
        for by in ("model", "repairs", "station", "week")
    ),
    f"""create temp table found as
        select job, rule, any_value(model) as model, any_value(repairs) as repairs,
               any_value(station) as station, any_value(week) as week,
               max(cast(outcome = 'fail' or answer = 'no' as int)) as failed,
               max(cast(weight = 'must' and not is_conceded as int)) as kept_back
        from finding join rounds using (report_id) join ends using (job) where {SHOWS}
        group by job, rule""",  # noqa: S608
    """create temp table advised as
       select distinct job, action, model, repairs, station, week
       from step join rounds using (report_id) join ends using (job)
       where lower(action) like '%reseat%'""",
    f"""create temp table lost as
        with waits as (
          select report_id, job, next_started - finished as lost, r.time_source
          from rounds join report r on r.id = report_id
          where r.verdict <> 'release' and next_started - finished between 0 and 14400
            and finished // 86400 = next_started // 86400),
        own as (select report_id, rule, count(*) as shares from finding
                where weight = 'must' and not is_conceded and {SHOWS} group by all),
        shared as (select report_id, sum(shares) as among from own join waits using (report_id)
                   group by report_id)
        select rule, lost * shares / among as share, time_source, model, repairs, station, week
        from own join waits using (report_id) join shared using (report_id)
        join ends using (job)""",  # noqa: S608
    *(
        statement
        for by in ("model", "repairs", "station", "week")
        for statement in (
            f"select {by}, rule, count(*), sum(failed), sum(kept_back) from found group by all",  # noqa: S608
            f"select {by}, action, count(*) from advised group by all",  # noqa: S608
            f"""select {by}, rule, sum(share), count(*),
                count(*) filter (where time_source like '%unproven') from lost group by all""",  # noqa: S608
        )
    ),
    """select count(*), count(*) filter (where next_started - last_finished between 1 and 2592000)
        from followed""",
    """select unit, model, station, job, next_job, next_started - last_finished from followed
        where next_started - last_finished between 1 and 2592000
        order by next_started desc limit 50""",
    """select stick_build, day, time_source like '%unproven', count(*) from report
       where stick_build <> '' group by all""",
    """select profile_set, day, time_source like '%unproven', count(*) from report
       where profile_set <> '' group by all""",
    """select station, arg_max(stick_build, started_at), arg_max(profile_set, started_at)
        from report where station <> '' group by station""",
)

MET: Final = """
create temp table met as
with several as (select hash(kind || value) as key from identity
                 group by 1 having min(unit) <> max(unit))
select report_id, kind, value, unit, board from identity
where hash(kind || value) in (select key from several)
"""
LABELS: Final = """
create temp table labels as
with several as (select unit from report where starts_with(unit, 'label ') and board <> ''
                 group by 1 having min(board) <> max(board))
select id as report_id, 'label' as kind, unit[7:] as value, unit, board from report
where unit in (select unit from several) and board <> ''
"""


def _of(rows: str, owner: str) -> tuple[str, ...]:
    return (
        f"""select m.kind, m.value, m.unit, m.board, work_order, station, min(started_at),
            max(started_at), count(*), min(digest) from {rows} m join report r on r.id = report_id
            where (m.kind, m.value) in (select (kind, value) from {rows} group by kind, value
                                        having count(distinct {owner}) between 2 and 5)
            group by all""",  # noqa: S608
        f"""select unit, work_order, min(started_at), bool_or(replaces_board) from report
            where unit in (select unit from {rows}) group by all""",  # noqa: S608
        f"""select distinct unit, work_order, p.kind, is_fitted, part_number, serial
            from part p join report r on r.id = p.report_id
            where unit in (select unit from {rows})""",  # noqa: S608
        f"""select kind, value, count(distinct {owner}), count(*) from {rows} group by kind, value
            having count(distinct {owner}) > 1""",  # noqa: S608
    )


def collisions(first_week: str, last_week: str) -> tuple[str, ...]:
    """All statements, the stations' ones within these weeks."""
    window = f"(select * from ends where week between '{first_week}' and '{last_week}')"  # noqa: S608
    return (
        MET,
        *_of("met", "unit"),
        LABELS,
        *_of("labels", "board"),
        JUDGED,
        ROUNDS,
        ENDS,
        FOLLOWED,
        f"select station, model, repairs, count(*) from {window} group by all",  # noqa: S608
        f"""select station, model, repairs, rule, count(*) from
            (select distinct report_id, rule from finding where {SHOWS})
            join {window} on report_id = first_id group by all""",  # noqa: S608
        "select model, profile_digest, count(*), max(first_started) from ends group by all",
        f"""select model, profile_digest, rule, count(*), count(distinct station) from
            (select distinct report_id, rule from finding where {FAILED})
            join ends on report_id = first_id group by all""",  # noqa: S608
        f"""select model, profile_digest, rule, expected, found, count(distinct report_id)
            from finding join ends on report_id = first_id
            where {FAILED} and rule = 'display.size' group by all""",  # noqa: S608
        """create temp table fitted as
           select distinct job, model, first_id, kind, part_number
           from part join ends on report_id = first_id where is_fitted and part_number <> ''""",
        f"""with seen as (
              select job, kind, part_number, first_id as seen_id from fitted union all
              select f.job, f.kind, f.part_number, e.first_id from fitted f
              join followed w on w.job = f.job
                and w.next_started - w.last_finished between 1 and 2592000
              join ends e on e.job = w.next_job),
            bad as (select distinct job, kind, part_number from seen
                    join finding on report_id = seen_id
                    where {FAILED} and starts_with(rule, kind || '.'))
            select model, kind, part_number, count(*), count(b.job) from fitted
            left join bad b using (job, kind, part_number) group by all""",  # noqa: S608
        """select count(*) from report
           where kind = 'judged' and label_serial = '' and board = ''""",
    )
