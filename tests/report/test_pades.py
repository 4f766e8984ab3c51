"""The signature in a document, by pyhanko's own validator, and what else may stand behind it."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from functools import cache
from io import BytesIO

import pytest

from closeout.report.added import is_only_signed
from closeout.report.failure import CertificateError
from strategies.documents import document_of, small_report

pytestmark = pytest.mark.wheel_oracle
NOON = datetime(2026, 11, 20, 12, tzinfo=UTC)


@cache
def document() -> bytes:
    return document_of(small_report())


@cache
def certificate() -> bytes:
    """A PKCS #12 file with a key of its own certifying, locked with `open`."""
    from cryptography import x509  # noqa: PLC0415 - where the libraries are
    from cryptography.hazmat.primitives import hashes, serialization  # noqa: PLC0415
    from cryptography.hazmat.primitives.asymmetric import ec  # noqa: PLC0415
    from cryptography.hazmat.primitives.serialization import pkcs12  # noqa: PLC0415

    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(x509.NameOID.COMMON_NAME, "Depot T")])
    flags = dict.fromkeys(
        ("key_encipherment", "data_encipherment", "key_agreement", "key_cert_sign", "crl_sign"),
        False,
    )
    usage = x509.KeyUsage(
        digital_signature=True,
        content_commitment=True,
        encipher_only=False,
        decipher_only=False,
        **flags,
    )
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(1)
        .not_valid_before(NOON - timedelta(days=365))
        .not_valid_after(NOON + timedelta(days=3650))
        .add_extension(usage, critical=True)
        .sign(key, hashes.SHA256())
    )
    lock = serialization.BestAvailableEncryption(b"open")
    return pkcs12.serialize_key_and_certificates(b"depot", key, made, None, lock)


@cache
def signed() -> bytes:
    from closeout.report.pades import sign_document  # noqa: PLC0415 - where the libraries are

    return sign_document(document(), certificate(), b"open")


def test_pyhanko_finds_it_whole_and_with_nothing_after_it() -> None:
    from pyhanko.pdf_utils.reader import PdfFileReader  # noqa: PLC0415 - as above
    from pyhanko.sign.validation import validate_pdf_signature  # noqa: PLC0415 - as above
    from pyhanko_certvalidator import ValidationContext  # noqa: PLC0415 - as above

    (found,) = PdfFileReader(BytesIO(signed())).embedded_signatures
    context = ValidationContext(trust_roots=[found.signer_cert])
    status = validate_pdf_signature(found, context)
    assert status.bottom_line
    assert status.intact
    assert status.trusted
    assert status.coverage.name == "ENTIRE_FILE"
    assert found.sig_object["/SubFilter"] == "/ETSI.CAdES.detached"
    assert found.docmdp_level.name == "NO_CHANGES"


def test_a_changed_page_breaks_it() -> None:
    from pyhanko.pdf_utils.reader import PdfFileReader  # noqa: PLC0415 - as above
    from pyhanko.sign.validation import validate_pdf_signature  # noqa: PLC0415 - as above
    from pyhanko_certvalidator import ValidationContext  # noqa: PLC0415 - as above

    changed = signed().replace(b"/Count ", b"/Count  ", 1)[: len(signed())]
    (found,) = PdfFileReader(BytesIO(changed), strict=False).embedded_signatures
    context = ValidationContext(trust_roots=[found.signer_cert])
    assert not validate_pdf_signature(found, context).intact


def test_nothing_of_the_document_changes() -> None:
    assert signed().startswith(document())
    assert is_only_signed(document(), signed())
    assert not is_only_signed(document(), document())
    assert not is_only_signed(document()[:-1] + b"x", signed())


def go_on(change: Callable[[object], None]) -> bytes:
    """The signed document with a change behind it, as anybody's program writes one."""
    from pyhanko.pdf_utils.incremental_writer import (  # noqa: PLC0415 - as above
        IncrementalPdfFileWriter,
    )

    writer = IncrementalPdfFileWriter(BytesIO(signed()))
    change(writer)
    written = BytesIO()
    writer.write(written)
    return written.getvalue()


def turn_page(writer: object) -> None:
    from pyhanko.pdf_utils.generic import NameObject, NumberObject  # noqa: PLC0415 - as above

    page = writer.root["/Pages"]["/Kids"][0]  # type: ignore[attr-defined]
    page[NameObject("/Rotate")] = NumberObject(180)
    writer.mark_update(page.container_ref)  # type: ignore[attr-defined]


def act(writer: object) -> None:
    from pyhanko.pdf_utils.generic import NameObject, pdf_string  # noqa: PLC0415 - as above

    writer.root[NameObject("/OpenAction")] = pdf_string("x")  # type: ignore[attr-defined]
    writer.update_root()  # type: ignore[attr-defined]


def show_field(writer: object) -> None:
    """The field of the signature gets room on the page, where it could paint."""
    from pyhanko.pdf_utils.generic import (  # noqa: PLC0415 - as above
        ArrayObject,
        NameObject,
        NumberObject,
    )

    field = writer.root["/AcroForm"]["/Fields"][0]  # type: ignore[attr-defined]
    field[NameObject("/Rect")] = ArrayObject(map(NumberObject, (0, 0, 500, 500)))
    writer.mark_update(field.container_ref)  # type: ignore[attr-defined]


def act_with_page(writer: object) -> None:
    """An unseen field may act as well, when the page that it is on is opened."""
    from pyhanko.pdf_utils.generic import (  # noqa: PLC0415 - as above
        DictionaryObject,
        NameObject,
        pdf_string,
    )

    field = writer.root["/AcroForm"]["/Fields"][0]  # type: ignore[attr-defined]
    script = {NameObject("/S"): NameObject("/JavaScript"), NameObject("/JS"): pdf_string("x")}
    opened = {NameObject("/PO"): DictionaryObject(script)}
    field[NameObject("/AA")] = DictionaryObject(opened)
    writer.mark_update(field.container_ref)  # type: ignore[attr-defined]


def rename_in_metadata(writer: object) -> None:
    """A reader has the title on its window, and says it first."""
    stream = writer.root["/Metadata"]  # type: ignore[attr-defined]
    stream._data = stream.data.replace(b"Hold", b"Release")
    stream._encoded_data = None
    assert b"Release" in stream.data
    writer.mark_update(stream.container_ref)  # type: ignore[attr-defined]


def rename(writer: object) -> None:
    from pyhanko.pdf_utils.generic import NameObject, pdf_string  # noqa: PLC0415 - as above

    facts = writer.trailer["/Info"]  # type: ignore[attr-defined]
    facts[NameObject("/Title")] = pdf_string("Release")
    writer.mark_update(facts.container_ref)  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    "change", [turn_page, act, show_field, act_with_page, rename_in_metadata, rename]
)
def test_whatever_else_stands_behind_it_is_not_passed_over(
    change: Callable[[object], None],
) -> None:
    changed = go_on(change)
    assert changed.startswith(signed())
    assert not is_only_signed(document(), changed)


@pytest.mark.parametrize(
    ("content", "word"), [("ours", b"wrong"), ("ours", None), ("noise", None), ("", b"open")]
)
def test_what_cannot_be_opened_is_said(content: str, word: bytes | None) -> None:
    from closeout.report.pades import sign_document  # noqa: PLC0415 - as above

    given = certificate() if content == "ours" else content.encode()
    with pytest.raises(CertificateError, match="no PKCS #12 file that this pass phrase opens"):
        sign_document(document(), given, word)


@pytest.mark.parametrize("left", ["key", "certificate"])
def test_one_without_the_other_does_not_sign(left: str) -> None:
    """What a depot's office exports first is often the certificate alone."""
    from cryptography.hazmat.primitives import serialization  # noqa: PLC0415 - as above
    from cryptography.hazmat.primitives.serialization import pkcs12  # noqa: PLC0415

    from closeout.report.pades import sign_document  # noqa: PLC0415 - as above

    key, made, _ = pkcs12.load_key_and_certificates(certificate(), b"open")
    lock = serialization.BestAvailableEncryption(b"open")
    kept, stated = (key, None) if left == "key" else (None, made)
    given = pkcs12.serialize_key_and_certificates(
        b"depot",
        kept,  # type: ignore[arg-type]  # a PKCS #12 key, of which there are others
        stated,
        None,
        lock,
    )
    with pytest.raises(CertificateError, match="holds no certificate with its key"):
        sign_document(document(), given, b"open")


def test_what_is_no_document_is_not_signed() -> None:
    from closeout.report.pades import sign_document  # noqa: PLC0415 - as above

    with pytest.raises(CertificateError, match="does not sign: "):
        sign_document(b"noise", certificate(), b"open")
