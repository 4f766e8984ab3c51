"""Invented fleets of any size, by seed: what a ledger would hold of them.

A null fleet has all that is no fault: returns, board swaps, refurbished boards and moved drives
with their orders, stations that specialise and differ by chance. `Planted` adds what must be found.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
from sqlalchemy import Engine, insert

from closeout.depot.tables import INDEX_TABLES, tables
from depot.fleet_columns import Names, days_of, digests, joined, months_of, numbered, weeks_of
from depot.fleet_drawn import (
    BOARD_SWAP,
    DAY,
    DRIVE_SWAP,
    FIRST_DAY,
    FITTED,
    IDENTITIES,
    MODELS,
    OF_BOARD,
    PROVEN,
    REPAIRS,
    REVIEW,
    RULES,
    UNPROVEN,
    Drawn,
    Numbers,
    Planted,
    is_must,
)


@dataclass(frozen=True, kw_only=True)
class Fleet:
    """The five tables, the month of each row's report, and what was planted where."""

    tables: dict[str, pa.Table]
    clashes: list[tuple[str, str]] = field(default_factory=list)

    def write_parquet(self, folder: Path) -> Path:
        """As an export: a folder a table, a folder a month."""
        month_of = dict(enumerate(self.tables["report"]["month"].to_pylist(), start=1))
        codes = np.array([int(text.replace("-", "")) for text in month_of.values()])
        for name, table in self.tables.items():
            ids = table["id" if name == "report" else "report_id"].to_numpy()
            own = codes[ids - 1]
            for code in np.unique(own):
                month = f"{code // 100}-{code % 100:02}"
                place = folder / name / f"month={month}"
                place.mkdir(parents=True)
                rows = table.filter(pa.array(own == code))
                pq.write_table(rows, place / "part-0.parquet")
        return folder

    def fill(self, engine: Engine) -> None:
        """As a ledger, made anew."""
        tables.create_all(engine, tables=list(INDEX_TABLES))
        with engine.begin() as connection:
            for table in INDEX_TABLES:
                for batch in self.tables[table.name].to_batches(max_chunksize=2000):
                    connection.execute(insert(table), batch.to_pylist())


def make_fleet(seed: int, orders: int, planted: Planted | None = None, weeks: int = 30) -> Fleet:
    """A fleet of so many orders; about 1.3 reports for each of them."""
    return _Laid(seed, orders, planted or Planted(), weeks).fleet()


class _Laid(Drawn):
    """What was drawn as rows of the five tables."""

    def fleet(self) -> Fleet:
        """All five, and what was planted into the identities."""
        self.clashes: list[tuple[str, str]] = []
        self._lay_out_reports()
        made = {
            "report": self._report_table(),
            "finding": self._finding_table(),
            "step": self._step_table(),
            "part": self._part_table(),
            "identity": self._identity_table(),
        }
        return Fleet(tables=made, clashes=self.clashes)

    def _lay_out_reports(self) -> None:
        """A row a report: attempts, revisions, drafts, unrun units."""
        chance, every = self.chance, np.arange(self.orders)
        self.asked = chance.random(self.orders) < 0.03
        second = every[self.held & (chance.random(self.orders) < 0.95)]
        self.stays = np.zeros(self.orders, dtype=bool)
        self.stays[second] = chance.random(len(second)) < 0.2
        third = second[self.stays[second]]
        draft = every[chance.random(self.orders) < 0.01]
        unrun = every[chance.random(self.orders) < 0.01]
        parts = [(every, 1, 1, 0), (every[self.asked], 1, 2, 0), (second, 2, 1, 0)]
        parts += [(third, 3, 1, 0), (draft, 0, 1, 1), (unrun, 0, 1, 2)]
        self.of = np.concatenate([orders for orders, *_ in parts])
        rest = np.array([told for orders, *told in parts for _ in range(len(orders))])
        self.attempt, self.revision, self.kind = rest.T
        pause = chance.integers(600, 7200, self.orders)
        self.started = self.start[self.of] + np.maximum(self.attempt - 1, -1) * (
            pause[self.of] + 300
        )
        self.ids = np.empty(len(self.of), dtype=np.int64)
        self.ids[np.lexsort((self.revision, self.started))] = np.arange(1, len(self.of) + 1)

    def _report_table(self) -> pa.Table:
        of, n = self.of, len(self.of)
        held = self.held[of] & ((self.attempt == 1) | ((self.attempt == 2) & self.stays[of]))
        undecided = self.asked[of] & (self.attempt == 1) & (self.revision == 1)
        verdict = np.where(self.kind == 2, 3, np.where(held, 1, np.where(undecided, 2, 0)))
        released = Names("1.0", "1.1", "1.2", "1.3")
        age = np.minimum((self.started - FIRST_DAY) // (60 * DAY), 3)
        build = np.where(self.station[of] == self.planted.stale_station, 0, age)
        swaps = self.repair[of] == BOARD_SWAP
        columns = {
            "id": pa.array(self.ids),
            "digest": digests(self.ids),
            "kind": Names("judged", "draft", "unrun").at(self.kind),
            "agent": Names("0.1.0").at(np.zeros(n, int)),
            "unit": joined("label ", self._labels(of)),
            "board": self._board_texts(),
            "label_serial": self._labels(of),
            "work_order": numbered("WO-", of, 8),
            "attempt": pa.array(self.attempt),
            "revision": pa.array(self.revision),
            "started_at": pa.array(self.started),
            "finished_at": pa.array(self.started + 300),
            "day": days_of(self.started),
            "week": weeks_of(self.started),
            "month": months_of(self.started),
            "time_source": Names(PROVEN, UNPROVEN).at((self.ids % 10 == 0).astype(int)),
            "model": MODELS.at(self.model[of]),
            "profile_revision": Names("1").at(np.zeros(n, int)),
            "profile_digest": numbered("profile-", self.model[of], 4),
            "profile_set": joined("2025.", released.at(age)),
            "profile_state": Names("unsigned").at(np.zeros(n, int)),
            "rules": Names("1").at(np.zeros(n, int)),
            "repairs": REPAIRS.at(self.repair[of]),
            "replaces_board": pa.array(swaps),
            "station": numbered("station-", self.station[of], 2),
            "seal": Names("none").at(np.zeros(n, int)),
            "stick_build": joined("build ", released.at(build)),
            "verdict": Names("release", "hold", "undecided", "").at(verdict),
            "why_unrun": Names("", "no_start").at((self.kind == 2).astype(int)),
            "evidence_digest": digests(of * 4 + self.attempt + n),  # a revision has the same
        }
        return pa.table(columns).sort_by("id")

    def _labels(self, of: Numbers) -> pa.Array:
        return numbered("S", self.unit[of], 9)

    def _board_texts(self) -> pa.Array:
        """Before the swap too the order's reports show the new board: they were made after it."""
        board = self.board[self.of]
        return joined(numbered("PB", board, 9), " ", numbered("uuid-", board, 9))

    def _finding_table(self) -> pa.Table:
        rows = list(self._finding_rows())
        report = np.concatenate([each[0] for each in rows])
        rule = np.concatenate([each[1] for each in rows])
        reply = np.concatenate([np.full(len(each[0]), each[2]) for each in rows])
        is_review = rule == len(RULES)
        names = Names(*RULES.texts, REVIEW)
        kinds = Names(*(name.partition(".")[0] for name in names.texts))
        wrong = np.array(
            [
                self.planted.wrong_model >= 0 and r == self.planted.wrong_rule
                for r in range(len(names))
            ]
        )[rule]
        found = np.where(is_review, 0, np.where(wrong, 1, 2 + report % 7))
        table = {
            "report_id": pa.array(report),
            "number": pa.array(_numbers_within(report)),
            "rule": names.at(rule),
            "subject": kinds.at(rule),
            "label": kinds.at(rule),
            "weight": Names("should", "must").at((is_must(rule) | is_review).astype(int)),
            "outcome": Names("fail", "review").at(is_review.astype(int)),
            "expected": Names("present").at(np.zeros(len(rule), int)),
            "found": Names("not said", "1920 x 1200", *("none " + "x" * k for k in range(7))).at(
                found
            ),
            "connection": Names("", "wifi-antenna").at((rule % 3 == 0).astype(int)),
            "answer": Names("", "yes").at(reply),
            "is_conceded": pa.array(np.zeros(len(rule), bool)),
        }
        return pa.table(table).sort_by([("report_id", "ascending"), ("number", "ascending")])

    def _finding_rows(self) -> Iterator[tuple[Numbers, Numbers, int]]:
        """Report, rule and answer: first attempts show all, second ones what stayed."""
        report_at = {
            (attempt, revision): self._ids_by_order(attempt, revision)
            for attempt, revision in ((1, 1), (1, 2), (2, 1))
        }
        for place, ids in report_at.items():
            stayed = np.ones(len(self.hit_order), bool)
            if place == (2, 1):
                stayed = self.stays[self.hit_order] & is_must(self.hit_rule)
            there = stayed & (ids[self.hit_order] > 0)
            yield ids[self.hit_order[there]], self.hit_rule[there], 0
        asked = np.flatnonzero(self.asked)
        for revision in (1, 2):
            ids = report_at[1, revision][asked]
            yield ids, np.full(len(asked), len(RULES)), revision - 1

    def _ids_by_order(self, attempt: int, revision: int) -> Numbers:
        ids = np.zeros(self.orders, dtype=np.int64)
        here = (self.attempt == attempt) & (self.revision == revision) & (self.kind == 0)
        ids[self.of[here]] = self.ids[here]
        return ids

    def _step_table(self) -> pa.Table:
        ids = self._ids_by_order(1, 1)
        first = np.unique(self.hit_order, return_index=True)
        order, rule = first[0], self.hit_rule[first[1]]
        kinds = Names(*(name.partition(".")[0] for name in RULES.texts))
        titles = joined("Reseat the ", kinds.at(rule))
        table = {
            "report_id": pa.array(ids[order]),
            "number": pa.array(np.ones(len(order), int)),
            "title": titles,
            "action": titles,
        }
        return pa.table(table)

    def _part_table(self) -> pa.Table:
        """What the order fitted, and the old one that it removed, in each of its reports."""
        of, repair = self.of, self.repair[self.of]
        number = joined(
            FITTED.at(repair), "-", MODELS.at(self.model[of]), "-", self.part[of].astype(str)
        )
        gone = repair == DRIVE_SWAP
        serial = np.where(gone, self.drive[of], of)
        mark = Names("FT", "DR").at(gone.astype(int))
        fitted = {
            "report_id": pa.array(self.ids),
            "number": pa.array(np.zeros(len(of), int)),
            "kind": FITTED.at(repair),
            "is_fitted": pa.array(np.ones(len(of), bool)),
            "part_number": number,
            "serial": joined(mark, numbered("", serial, 9), "-0"),
        }
        count = int(gone.sum())
        removed = {
            "report_id": pa.array(self.ids[gone]),
            "number": pa.array(np.ones(count, int)),
            "kind": FITTED.at(repair[gone]),
            "is_fitted": pa.array(np.zeros(count, bool)),
            "part_number": Names("").at(np.zeros(count, int)),
            "serial": Names("").at(np.zeros(count, int)),
        }
        return pa.concat_tables([pa.table(fitted), pa.table(removed)])

    def _identity_table(self) -> pa.Table:
        """What each judged report says of its unit; clashes are planted into it."""
        kept = self.kind < 2
        of, ids = self.of[kept], self.ids[kept]
        unit, board, drive = self.unit[of].copy(), self.board[of].copy(), self.drive[of].copy()
        columns = [self._values(place, unit, board, drive) for place in range(len(IDENTITIES))]
        columns = self._plant(columns, of)
        n, wide = len(of), len(IDENTITIES)
        texts = pa.chunked_array(columns).combine_chunks()
        unit_text = joined("label ", numbered("S", unit, 9))
        board_text = joined(numbered("PB", board, 9), " ", numbered("uuid-", board, 9))
        place = np.repeat(np.arange(wide), n)
        within = np.tile(np.arange(n), wide)
        table = {
            "report_id": pa.array(ids[within]),
            "number": pa.array(place),
            "kind": Names(*IDENTITIES).at(place),
            "value": texts,
            "unit": unit_text.take(pa.array(within)),
            "board": board_text.take(pa.array(within)),
        }
        return pa.table(table)

    def _values(self, place: int, unit: Numbers, board: Numbers, drive: Numbers) -> pa.Array:
        if place == 0:
            return numbered("S", unit, 9)
        if place < OF_BOARD:
            return joined(numbered(("", "uuid-", "PB", "MA", "MB", "tok-")[place], board, 9), "")
        mark = ("DR", "DX", "MAKER/PACK/PK")[place - OF_BOARD]
        # The first drive goes where its order says; the second and the pack stay where they are.
        return joined(
            numbered(mark, drive if place == OF_BOARD else unit, 9), f"-{place - OF_BOARD}"
        )

    def _plant(self, columns: list[pa.Array], of: Numbers) -> list[pa.Array]:
        """Some units show what another unit has; pairs are far apart and neither comes back."""
        planted = self.planted
        if not planted.clashes and not planted.fillers:
            return columns
        free = self._quiet_orders(planted.clashes * 2 * len(IDENTITIES) + planted.fillers)
        fakes, pairs = free[: planted.fillers], free[planted.fillers :].reshape(-1, 2)
        changed = [column.to_numpy(zero_copy_only=False) for column in columns]
        for place, kind in enumerate(IDENTITIES):
            for one, other in pairs[place * planted.clashes : (place + 1) * planted.clashes]:
                value = str(changed[place][np.flatnonzero(of == one)[0]])
                changed[place][of == other] = value
                self.clashes.append((kind, value))
        if planted.fillers:
            changed[2][np.isin(of, fakes)] = "TO BE WRITTEN"
        return [pa.array(column, pa.string()) for column in changed]

    def _quiet_orders(self, count: int) -> Numbers:
        """Orders whose unit, board and drive nobody else ever has, and that changed none."""
        plain = (self.repair != BOARD_SWAP) & (self.repair != DRIVE_SWAP)
        for part in (self.unit, self.board, self.drive):
            _, where, times = np.unique(part, return_inverse=True, return_counts=True)
            plain &= times[where] == 1
        return self.chance.permutation(np.flatnonzero(plain))[:count]


def _numbers_within(report: Numbers) -> Numbers:
    """1, 2, 3 … for the rows of each report."""
    order = np.argsort(report, kind="stable")
    ranked = report[order]
    starts = np.flatnonzero(np.r_[True, ranked[1:] != ranked[:-1]])
    lengths = np.diff(np.r_[starts, len(ranked)])
    numbers = np.empty(len(report), dtype=np.int64)
    numbers[order] = np.arange(len(report)) - np.repeat(starts, lengths) + 1
    return numbers
