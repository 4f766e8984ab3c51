"""`closeout report pdf`: made, verified as the folder is, signed, and seen through when forged."""

import json
import re
import shutil
import subprocess
from pathlib import Path
from typing import Final

import pytest

from closeout.cli import documents, report_label, report_pdf, report_verify, sealing
from closeout.cli.document_pages import CHANGED, NOT_COMPARED, SAME, SIGNED
from closeout.cli.report_verify import NOT_SHOWN
from closeout.cli.station_key import load_signer
from closeout.cli.station_records import load_station
from closeout.media.report_file import pack_folder
from closeout.model.frozen import replace
from closeout.model.verdict import Verdict
from closeout.report.as_json import render_json
from closeout.report.colophon import Colophon, render_colophon
from closeout.report.document import render_document
from closeout.report.embedded import parse_document
from closeout.report.from_json import load_report
from closeout.report.seal import make_seal
from closeout.report.typesetting import typesetter
from oracles import openssl
from strategies.surroundings import Told, call_in
from strategies.written_attempt import everything, write_demo

pytestmark = pytest.mark.wheel_oracle
AGENT: Final = "closeout 0.1.0"
DAYS: Final = ("--first-day", "2026-11-01", "--last-day", "2027-11-01")


@pytest.fixture(autouse=True)
def _no_station(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in (sealing.FOLDER, sealing.PASSPHRASE, report_verify.STATIONS):
        monkeypatch.delenv(name, raising=False)


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An attempt that B-07 sealed, with its document; nothing in it is changed by a test."""
    folder = tmp_path_factory.mktemp("kept")
    call_in(folder, "station", "init", folder / "B-07", "--code", "B-07", *DAYS)
    (folder / "known").mkdir()
    shutil.copyfile(folder / "B-07" / "station.toml", folder / "known" / "B-07.toml")
    attempt = write_demo(folder, "--station-key", folder / "B-07")
    told = call_in(folder, "report", "pdf", attempt)
    assert (told.code, told.err) == (0, "")
    assert told.out == f"Document: {attempt / 'report.pdf'}\n"
    return attempt


@pytest.fixture
def document(kept: Path, tmp_path: Path) -> Path:
    """A copy of the document, away from the folder that it was made of."""
    return Path(shutil.copyfile(kept / "report.pdf", tmp_path / "ticket.pdf"))


def verify(kept: Path, file: Path) -> Told:
    return call_in(file.parent, "report", "verify", file, "--stations", kept.parents[2] / "known")


def own() -> str:
    return f"{AGENT} with {typesetter()}"


def test_the_document_alone_verifies_as_its_folder_does(kept: Path, document: Path) -> None:
    told = verify(kept, document)
    assert (told.code, told.err) == (0, "")
    name, pages, *said = told.out.splitlines()
    assert pages == SAME.format(agent=own())
    of_folder = verify(kept, kept / "report.json").out.splitlines()
    assert [name, *said] == of_folder
    assert said[0] == "Intact: not a byte has changed since station B-07 sealed it."
    assert said[-1] == NOT_SHOWN


def test_it_holds_the_files_of_the_folder(kept: Path, document: Path) -> None:
    files = dict(parse_document(document.read_bytes()))
    del files["colophon.json"]
    names = {"report.json", "report.jws", "evidence.jsonl.gz", "work-order.toml"}
    assert files == {name: (kept / name).read_bytes() for name in names}


def test_the_same_pages_are_made_of_it_again(document: Path) -> None:
    again = document.with_name("again.pdf")
    assert call_in(document.parent, "report", "pdf", document, "--out", again).code == 0
    assert again.read_bytes() == document.read_bytes()
    before = everything(document.parent)
    told = call_in(document.parent, "report", "pdf", document, "--out", again)
    assert (told.code, told.out) == (2, "")
    assert told.err.startswith("closeout: the document was not written: ")
    told = call_in(document.parent, "report", "pdf", document)
    assert told.err == f"closeout: {document}: {documents.NO_PLACE}\n"
    assert everything(document.parent) == before


def test_a_forged_report_in_it_is_changed(kept: Path, document: Path) -> None:
    """Pages that are right for a report that nobody sealed."""
    files = dict(parse_document(document.read_bytes()))
    files.pop("colophon.json")
    genuine = load_report(files["report.json"])
    files["report.json"] = render_json(replace(genuine, verdict=Verdict.RELEASE))
    colophon = Colophon(agent=AGENT, typesetter=typesetter())
    document.write_bytes(render_document(files, colophon))
    told = verify(kept, document)
    assert told.code == 2
    assert told.out.splitlines()[1:3] == [
        SAME.format(agent=own()),
        "CHANGED: these are not the bytes that station B-07 sealed.",
    ]


def test_other_pages_around_the_same_report_are_seen(kept: Path, document: Path) -> None:
    from pypdf import PdfReader, PdfWriter  # noqa: PLC0415 - with the library

    writer = PdfWriter(clone_from=PdfReader(document))
    writer.pages[0].rotate(180)
    forged = document.with_name("forged.pdf")
    writer.write(forged)
    told = verify(kept, forged)
    assert told.code == 2
    assert told.out.splitlines()[1] == CHANGED.format(agent=own())
    document.write_bytes(document.read_bytes() + b"%")
    assert CHANGED.format(agent=own()) in verify(kept, document).out


@pytest.mark.parametrize(
    ("colophon", "code", "why"),
    [
        (
            Colophon(agent="closeout 9.9", typesetter="typst 9"),
            2,
            "they were made by closeout 9.9 with typst 9, and this is {own}",
        ),
        (None, 2, "it has no colophon.json that says how it was made"),
    ],
)
def test_pages_that_cannot_be_compared_are_said_to_be_so(
    kept: Path,
    document: Path,
    colophon: Colophon | None,
    code: int,
    why: str,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    files = dict(parse_document(document.read_bytes()))
    files.pop("colophon.json")
    if colophon:
        files["colophon.json"] = render_colophon(colophon)
    monkeypatch.setattr("closeout.cli.documents.parse_document", lambda _: files)
    told = verify(kept, document)
    assert told.code == code
    assert told.out.splitlines()[1] == NOT_COMPARED.format(why=why.format(own=own()))


def test_what_is_judged_otherwise_stands_on_page_one_and_is_told(
    kept: Path, tmp_path: Path
) -> None:
    folder = Path(shutil.copytree(kept, tmp_path / "attempt"))
    (folder / "report.pdf").unlink()
    then = load_report((folder / "report.json").read_bytes())
    (folder / "report.json").write_bytes(render_json(replace(then, findings=then.findings[1:])))
    assert call_in(tmp_path, "report", "pdf", folder).code == 0
    shown = ("pdftotext", "-l", "1", folder / "report.pdf", "-")
    told = subprocess.run(shown, check=True, capture_output=True, text=True).stdout
    assert f"JUDGED OTHERWISE {AGENT} says hold of the same evidence" in " ".join(told.split())


def test_a_profile_that_is_not_here_judges_nothing_otherwise(kept: Path, tmp_path: Path) -> None:
    folder = Path(shutil.copytree(kept, tmp_path / "attempt"))
    (folder / "report.pdf").unlink()
    tree = json.loads((folder / "report.json").read_bytes())
    tree["circumstances"]["profile"]["name"] = "depot/fen-14"
    (folder / "report.json").write_text(json.dumps(tree))
    assert call_in(tmp_path, "report", "pdf", folder).code == 0
    shown = ("pdftotext", "-l", "1", folder / "report.pdf", "-")
    told = subprocess.run(shown, check=True, capture_output=True, text=True).stdout
    assert "JUDGED OTHERWISE" not in told


@pytest.mark.oracle
@pytest.mark.skipif(bool(openssl.reason_to_skip()), reason=openssl.reason_to_skip())
def test_a_signed_document_is_what_other_tools_say(kept: Path, document: Path) -> None:
    make_certificate(document.parent)
    signed = document.with_name("signed.pdf")
    given = ("--certificate", document.with_name("depot.p12"))
    opened = ("--passphrase", document.with_name("word"))
    told = call_in(document.parent, "report", "pdf", document, "--out", signed, *given, *opened)
    assert (told.code, told.err) == (0, "")
    assert signed.read_bytes().startswith(document.read_bytes())
    told = verify(kept, signed)
    assert told.code == 0
    assert told.out.splitlines()[1] == SIGNED.format(agent=own())
    said = subprocess.run(("pdfsig", signed), capture_output=True, text=True, check=False).stdout
    for line in (
        "Signer Certificate Common Name: Depot T",
        "Signature Type: ETSI.CAdES.detached",
        "Total document signed",
        "Signature Validation: Signature is Valid.",
        "Certificate Validation: Certificate issuer is unknown.",
    ):
        assert line in said
    told = call_in(document.parent, "report", "pdf", document, "--out", signed, *given)
    assert told.code == 2
    assert "is no PKCS #12 file that this pass phrase opens" in told.err


@pytest.mark.oracle
@pytest.mark.skipif(bool(openssl.reason_to_skip()), reason=openssl.reason_to_skip())
def test_the_seal_taken_out_of_it_verifies_with_openssl_alone(kept: Path, document: Path) -> None:
    manual = (Path(__file__).parents[2] / "docs" / "seals.md").read_text("utf-8")
    lines = "".join(re.findall(r"```sh\n(.*?)```", manual, re.DOTALL))
    key = load_station(kept.parents[2] / "B-07/station.toml").key
    lines = re.sub(r"^key=.*$", f"key={key}", lines, count=1, flags=re.MULTILINE)
    document.rename(document.with_name("report.pdf"))
    command = ("sh", "-e", "-c", lines)
    told = subprocess.run(command, cwd=document.parent, capture_output=True, text=True, check=True)
    assert told.stdout == "Signature Verified Successfully\n"
    taken = {file.name for file in (document.parent / "taken").iterdir()}
    assert {"report.json", "report.jws", "evidence.jsonl.gz", "work-order.toml"} < taken


def make_certificate(folder: Path) -> None:
    """A key of a depot, certified by itself, locked with the word `open`."""
    (folder / "word").write_text("open\n")
    name = "-subj /CN=Depot_T -addext keyUsage=digitalSignature,nonRepudiation"
    for command in (
        f"req -x509 -newkey rsa:2048 -nodes -keyout key -out cert {name}",
        "pkcs12 -export -inkey key -in cert -out depot.p12 -passout pass:open",
    ):
        words = [word.replace("_", " ") for word in command.split()]
        subprocess.run(("openssl", *words), cwd=folder, check=True, capture_output=True)


def test_a_unit_that_was_not_run_has_a_document(kept: Path, tmp_path: Path) -> None:
    said = ("--order", "T-1", "--by", "T-07", "--reason", "no-boot")
    assert call_in(tmp_path, "unrun", *said).code == 0
    (folder,) = tmp_path.glob("closeout-reports/T-1/*")
    assert call_in(tmp_path, "report", "pdf", folder).code == 0
    told = verify(kept, folder / "unrun.pdf")
    assert told.code == 2
    assert told.out.splitlines()[1:3] == [
        SAME.format(agent=own()),
        "Not sealed: there is no unrun.jws beside it.",
    ]
    seal = make_seal(
        (folder / "unrun.json").read_bytes(), load_signer(kept.parents[2] / "B-07", None)
    )
    (folder / "unrun.jws").write_bytes(seal)
    sealed = tmp_path / "sealed.pdf"
    assert call_in(tmp_path, "report", "pdf", folder, "--out", sealed).code == 0
    told = verify(kept, sealed)
    assert told.code == 0
    name, _, intact, _ = told.out.splitlines()
    assert name.startswith("Record of T-1: not run, no-boot, 2026-11-20T")
    assert intact.startswith("Intact: not a byte has changed since station B-07")
    (folder / "unrun.json").write_text("{}")
    told = call_in(tmp_path, "report", "pdf", folder, "--out", "new.pdf")
    assert told.err == f"closeout: {folder}/unrun.json: no record: unrun: is missing\n"
    assert verify(kept, folder).err == told.err


@pytest.mark.parametrize("arguments", [("pdf",), ("label",)])
def test_without_the_libraries_one_line_says_what_to_install(
    kept: Path, arguments: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    for command in (report_label, report_pdf):
        monkeypatch.setattr(command, "SETS_DOCUMENTS", ("no_such_library",))
    told = call_in(kept, "report", *arguments, kept, "--out", "new")
    assert (told.code, told.out) == (2, "")
    assert told.err == f"closeout: {documents.NEEDED}\n"


def test_without_what_makes_pages_the_report_in_it_verifies(
    kept: Path, document: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(report_verify, "SETS_DOCUMENTS", ("no_such_library",))
    told = verify(kept, document)
    assert (told.code, told.err) == (2, "")
    assert told.out.splitlines()[1] == NOT_COMPARED.format(why=documents.NEEDED)
    assert "Intact: not a byte has changed" in told.out


@pytest.mark.parametrize("command", ["verify", "pdf", "label"])
def test_what_is_not_there_is_said_to_be_so(kept: Path, tmp_path: Path, command: str) -> None:
    stations = ("--stations", kept.parent) if command == "verify" else ()
    told = call_in(tmp_path, "report", command, "missing.pdf", *stations)
    assert (told.code, told.out) == (2, "")
    assert told.err.endswith(f"missing.pdf: {documents.NOTHING_THERE}\n")


def test_wrong_input_is_one_line(kept: Path, tmp_path: Path) -> None:
    (tmp_path / "noise.pdf").write_bytes(b"noise")
    (tmp_path / "report.json").write_text("{}")
    for arguments, said in (
        (("pdf", "noise.pdf", "--out", "x"), "noise.pdf: is neither a document nor a report file"),
        (("pdf", "report.json", "--out", "x"), "report.json: no report: "),
        (("pdf", str(kept), "--out", "x", "--passphrase", "y"), "--passphrase opens a certif"),
        (("pdf", str(kept), "--out", "x", "--certificate", "noise.pdf"), "is no PKCS #12 file"),
        (("label", str(kept / "report.pdf")), documents.NO_PLACE),
    ):
        places = [tmp_path / each if (tmp_path / each).is_file() else each for each in arguments]
        told = call_in(tmp_path, "report", *places)
        (line,) = told.err.splitlines()
        assert told.code == 2
        assert said in line
    assert not (tmp_path / "x").exists()


def test_paper_of_a_revision_that_is_not_the_newest_is_made_and_told(tmp_path: Path) -> None:
    attempt = write_demo(tmp_path)
    said = ("--by", "L1", "--reason", "part on order")
    assert call_in(tmp_path, "concede", attempt, "1", *said).code == 0
    newest = attempt.with_name(f"{attempt.name}-r2")
    for made in ("pdf", "label"):
        told = call_in(tmp_path, "report", made, attempt)
        assert told.code == 0
        assert told.err.startswith(f"closeout: Not the newest: {newest.name} lies beside it")
        assert call_in(tmp_path, "report", made, newest).err == ""


def test_what_holds_another_thing_is_no_document(kept: Path, tmp_path: Path) -> None:
    from pypdf import PdfWriter  # noqa: PLC0415 - with the library

    writer = PdfWriter()
    writer.add_blank_page(100, 100)
    writer.add_attachment("notes.txt", b"x")
    writer.write(tmp_path / "other.pdf")
    told = verify(kept, tmp_path / "other.pdf")
    assert told.err.endswith("other.pdf: holds no report.json; is it a document of closeout?\n")


def test_a_redacted_report_takes_nothing_personal_with_it(kept: Path, tmp_path: Path) -> None:
    """Not even where evidence and order were put beside it."""
    attempt = write_demo(tmp_path, "--redact")
    for name in ("evidence.jsonl.gz", "work-order.toml"):
        shutil.copyfile(kept / name, attempt / name)
    assert call_in(tmp_path, "report", "pdf", attempt).code == 0
    held = parse_document((attempt / "report.pdf").read_bytes())
    assert set(held) == {"report.json", "colophon.json"}
    assert b"NL7QK51M" not in held["report.json"]


def test_a_report_file_off_a_stick_is_taken_too(kept: Path, tmp_path: Path) -> None:
    attempt = Path(shutil.copytree(kept, tmp_path / "T-1" / kept.name))
    (attempt / "report.pdf").unlink()
    packed = tmp_path / "T-1.zip"
    packed.write_bytes(pack_folder(attempt))
    told = verify(kept, packed)
    assert (told.code, told.err) == (0, "")
    assert told.out == verify(kept, kept).out
    assert call_in(tmp_path, "report", "pdf", packed, "--out", "made.pdf").code == 0
    assert (tmp_path / "made.pdf").read_bytes() == (kept / "report.pdf").read_bytes()
    assert call_in(tmp_path, "report", "label", packed, "--out", "label.pdf").code == 0
    packed.write_bytes(packed.read_bytes()[:-1])
    told = verify(kept, packed)
    assert told.code == 2
    assert "its end is missing" in told.err


def test_no_folder_of_the_moment_is_named_or_left(
    kept: Path, document: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    files = dict(parse_document(document.read_bytes())) | {"report.jws": b"x", "report.json": b"{"}
    monkeypatch.setattr("closeout.cli.documents.parse_document", lambda _: files)
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    before = set(tmp_path.iterdir())
    told = verify(kept, document)
    assert told.err.startswith(f"closeout: {document}/report.json: no report: ")
    assert set(tmp_path.iterdir()) == before
