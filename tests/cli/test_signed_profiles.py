"""`closeout profile sign`, and what a check says of the profile that it judged by."""

import json
import re
from html import unescape
from pathlib import Path

import pytest

from closeout.cli import lead, sealing
from closeout.cli.lead import STATEMENT_FILE
from closeout.expect.shipped import shipped_folder
from closeout.report.page import render_page
from closeout.report.seal import from_base64url, to_base64url
from oracles import openssl
from strategies.surroundings import Told, call_in
from strategies.written_attempt import load, write_demo

FEN = "northlake/fen-14.toml"


@pytest.fixture(autouse=True)
def _nobody(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in (sealing.FOLDER, sealing.PASSPHRASE, lead.LEAD):
        monkeypatch.delenv(name, raising=False)


def make_lead(folder: Path, code: str = "L-01") -> Path:
    """The lead's key; his public record beside it, as it is given to the stations."""
    told = call_in(folder, "station", "init", folder / code, "--code", code)
    assert told.code == 0, told.err
    trusted = folder / f"trusted-{code}"
    trusted.mkdir()
    (trusted / "lead.toml").write_bytes((folder / code / "station.toml").read_bytes())
    return trusted / "lead.toml"


def own_profiles(folder: Path, mark: str = "") -> Path:
    """The depot's own: one shipped model, with a line more where `mark` is."""
    own = folder / "profiles"
    (own / FEN).parent.mkdir(parents=True, exist_ok=True)
    text = (shipped_folder("profiles") / FEN).read_text("utf-8")
    (own / FEN).write_text(f"{text}{mark}", "utf-8")
    return own


def sign(folder: Path, *more: object, code: str = "L-01") -> Told:
    return call_in(folder, "profile", "sign", "--station-key", folder / code, *more)


def page_one(attempt: Path) -> str:
    page = re.sub(r"<[^>]*>", " ", render_page(load(attempt)).split("</section>")[0])
    return " ".join(unescape(page).split())


def test_a_signed_profile_is_told_on_page_one(tmp_path: Path) -> None:
    record = make_lead(tmp_path)
    own = own_profiles(tmp_path)
    told = sign(tmp_path, own, "--version", "2026.7")
    count = len(load_statement(own)["files"])
    assert told.out == f"Set 2026.7, {count} profiles, signed by L-01: {own / STATEMENT_FILE}\n"
    (own / STATEMENT_FILE).rename(record.with_name("2026.7.jws"))
    attempt = write_demo(tmp_path, "--lead", record)
    assert load(attempt).circumstances.profile_signature.state.value == "signed"
    assert "profile signed by L-01 on 2026-11-20, set 2026.7" in page_one(attempt)


def load_statement(folder: Path) -> dict[str, dict[str, str]]:
    _, content, _ = (folder / STATEMENT_FILE).read_text("ascii").split(".")
    found: dict[str, dict[str, str]] = json.loads(from_base64url(content))
    return found


def test_shipped_profiles_are_among_what_is_signed(tmp_path: Path) -> None:
    make_lead(tmp_path)
    own = tmp_path / "empty"
    own.mkdir()
    assert sign(tmp_path, own, "--version", "1").code == 0
    assert {"any-notebook", "northlake/fen-14"} <= load_statement(own)["files"].keys()


def test_the_folder_of_the_depot_goes_over_the_shipped_one(tmp_path: Path) -> None:
    record = make_lead(tmp_path)
    own = own_profiles(tmp_path, "# changed by the depot\n")
    sign(tmp_path, own, "--version", "2026.7")
    (own / STATEMENT_FILE).rename(record.with_name("a.jws"))
    attempt = write_demo(tmp_path, "--lead", record)
    assert (
        "PROFILE NOT SIGNED: northlake/fen-14 is not as the lead signed it in 2026.7"
        in page_one(attempt)
    )
    attempt = write_demo(tmp_path, "--lead", record, "--profile", own / FEN)
    assert "profile signed by L-01" in page_one(attempt)


def test_a_set_that_lies_with_the_named_profile_is_found(tmp_path: Path) -> None:
    """As `profile sign` wrote it, and no copy of it beside the lead's record."""
    record = make_lead(tmp_path)
    own = own_profiles(tmp_path, "# changed by the depot\n")
    sign(tmp_path, own, "--version", "2026.7")
    attempt = write_demo(tmp_path, "--lead", record, "--profile", own / FEN)
    assert "profile signed by L-01 on 2026-11-20, set 2026.7" in page_one(attempt)
    (own / STATEMENT_FILE).write_bytes(b"no statement")
    attempt = write_demo(tmp_path, "--lead", record, "--profile", own / FEN)
    assert "PROFILE NOT SIGNED: set.jws" in page_one(attempt)


def test_a_newer_set_supersedes(tmp_path: Path) -> None:
    record = make_lead(tmp_path)
    for version, mark in (("2026.7", ""), ("2026.8", "# changed\n")):
        own = own_profiles(tmp_path, mark)
        sign(tmp_path, own, "--version", version)
        (own / STATEMENT_FILE).rename(record.with_name(f"{version}.jws"))
    attempt = write_demo(tmp_path, "--lead", record)
    said = "PROFILE SUPERSEDED: signed by L-01 on 2026-11-20, set 2026.7; signed since: 2026.8"
    assert said in page_one(attempt)


def test_without_a_lead_it_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert "PROFILE NOT SIGNED: no lead is known here" in page_one(write_demo(tmp_path))
    monkeypatch.setenv(lead.LEAD, str(make_lead(tmp_path)))
    said = "PROFILE NOT SIGNED: no set of profiles that the lead signed is here"
    assert said in page_one(write_demo(tmp_path))


def test_another_lead_does_not_count(tmp_path: Path) -> None:
    record = make_lead(tmp_path)
    make_lead(tmp_path, "L-02")
    own = own_profiles(tmp_path)
    sign(tmp_path, own, "--version", "1", code="L-02")
    (own / STATEMENT_FILE).rename(record.with_name("a.jws"))
    attempt = write_demo(tmp_path, "--lead", record)
    assert "PROFILE NOT SIGNED: a.jws was not signed by L-01" in page_one(attempt)


@pytest.mark.parametrize("index", [0, 1, 2])
def test_a_changed_statement_does_not_count(tmp_path: Path, index: int) -> None:
    record = make_lead(tmp_path)
    own = own_profiles(tmp_path)
    sign(tmp_path, own, "--version", "1")
    parts = (own / STATEMENT_FILE).read_text("ascii").strip().split(".")
    swapped = "B" if parts[index][5] == "A" else "A"
    parts[index] = parts[index][:5] + swapped + parts[index][6:]
    record.with_name("a.jws").write_text(".".join(parts), "ascii")
    attempt = write_demo(tmp_path, "--lead", record)
    assert "PROFILE NOT SIGNED: a.jws is not what a lead signed" in page_one(attempt)


def test_the_key_of_a_revoked_lead_does_not_count(tmp_path: Path) -> None:
    record = make_lead(tmp_path)
    own = own_profiles(tmp_path)
    sign(tmp_path, own, "--version", "1")
    (own / STATEMENT_FILE).rename(record.with_name("a.jws"))
    call_in(tmp_path, "station", "revoke", record, "--reason", "left", "--on", "2026-11-01")
    attempt = write_demo(tmp_path, "--lead", record)
    assert "the key of L-01 is revoked, and a.jws of 2026-11-20" in page_one(attempt)


def test_what_a_station_sealed_is_no_statement(tmp_path: Path) -> None:
    """The lead's key may seal reports too: that is another thing to have signed."""
    record = make_lead(tmp_path)
    attempt = write_demo(tmp_path, "--station-key", tmp_path / "L-01")
    head, _, signature = (attempt / "report.jws").read_text("ascii").strip().split(".")
    content = to_base64url((attempt / "report.json").read_bytes())
    record.with_name("a.jws").write_text(f"{head}.{content}.{signature}\n", "ascii")
    attempt = write_demo(tmp_path, "--lead", record)
    assert "PROFILE NOT SIGNED: a.jws is not what a lead signed" in page_one(attempt)


@pytest.mark.oracle
@pytest.mark.skipif(bool(openssl.reason_to_skip()), reason=openssl.reason_to_skip())
def test_openssl_verifies_what_was_signed(tmp_path: Path) -> None:
    make_lead(tmp_path)
    own = own_profiles(tmp_path)
    sign(tmp_path, own, "--version", "1")
    head, content, signature = (own / STATEMENT_FILE).read_text("ascii").strip().split(".")
    record = (tmp_path / "L-01/station.toml").read_text("utf-8")
    key = re.search(r'key = "(.*)"', record)
    assert key
    signed = f"{head}.{content}".encode()
    raw = (from_base64url(signature), from_base64url(key[1]))
    assert openssl.verifies(tmp_path, signed, *raw)
    assert not openssl.verifies(tmp_path, signed + b"A", *raw)


def test_what_is_wrong_is_said_and_nothing_is_signed(tmp_path: Path) -> None:
    make_lead(tmp_path)
    own = own_profiles(tmp_path)
    assert "who signs? give --station-key DIR" in call_in(tmp_path, "profile", "sign", own).err
    assert f"{own}: no set.toml in it; give --version" in sign(tmp_path, own).err
    (own / "set.toml").write_text("set = 1\nversion = 3\n")
    assert "set.toml" in sign(tmp_path, own).err
    (own / FEN).write_text("profile = 1\n")
    assert "fen-14.toml" in sign(tmp_path, own, "--version", "1").err
    assert "cannot be listed" in sign(tmp_path, tmp_path / "no", "--version", "1").err
    assert "--version: one line without" in sign(tmp_path, own, "--version", "1\udcff").err
    assert not (own / STATEMENT_FILE).exists()


def test_a_key_that_is_not_valid_signs_nothing(tmp_path: Path) -> None:
    call_in(
        *(tmp_path, "station", "init", tmp_path / "old", "--code", "L-01"),
        *("--first-day", "2020-01-01", "--last-day", "2020-12-31"),
    )
    told = sign(tmp_path, own_profiles(tmp_path), "--version", "1", code="old")
    assert (told.code, told.out) == (2, "")
    assert "the key of L-01 is not valid on 2026-11-20" in told.err


def test_a_set_that_cannot_be_written_is_said(tmp_path: Path) -> None:
    make_lead(tmp_path)
    own = own_profiles(tmp_path)
    (own / STATEMENT_FILE).mkdir()
    assert sign(tmp_path, own, "--version", "1").code == 2


def test_a_lead_that_cannot_be_read_stops_the_check(tmp_path: Path) -> None:
    told = call_in(tmp_path, "check", "--lead", tmp_path / "no.toml", "--evidence", tmp_path / "x")
    assert told.code == 2
    assert "no.toml: cannot be read" in told.err


def test_a_batch_tells_it_too(tmp_path: Path) -> None:
    record = make_lead(tmp_path)
    demo = shipped_folder("profiles") / "demo"
    told = call_in(
        *(tmp_path, "check", "--evidence", demo / "fen-14-healthy", demo / "osier-15-worn-pack"),
        *("--lead", record, "--out", tmp_path / "out"),
    )
    assert told.code in {0, 1, 3}, told.err
    reports = sorted((tmp_path / "out").glob("*/*/report.json"))
    states = [load(one.parent).circumstances.profile_signature for one in reports]
    assert [one.lead for one in states] == ["L-01", "L-01"]
