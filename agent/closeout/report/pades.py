"""A signature in the document itself: PAdES baseline B-B (ETSI EN 319 142-1), by pyhanko.

It is added behind the document, of which no byte changes: its pages and what it holds stay what
they were. It certifies it with no change allowed after (ISO 32000-1, 12.8.2.2), is not to be seen
on a page, and bears no time stamp of an authority, since none can be reached from a bench.
"""

from __future__ import annotations

from io import BytesIO
from typing import Final

from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.pdf_utils.misc import PdfError
from pyhanko.sign.fields import MDPPerm, SigSeedSubFilter
from pyhanko.sign.general import SigningError
from pyhanko.sign.signers import PdfSignatureMetadata, PdfSigner, SimpleSigner

from closeout.report.failure import CertificateError

FIELD: Final = "Signature"
HASH: Final = "sha256"
NO_PAIR: Final = "holds no certificate with its key"


def sign_document(document: bytes, certificate: bytes, passphrase: bytes | None) -> bytes:
    """The document with a signature behind it.

    Raises CertificateError where the PKCS #12 file cannot be opened, or does not sign.
    """
    signer = _open(certificate, passphrase)
    metadata = PdfSignatureMetadata(
        field_name=FIELD,
        md_algorithm=HASH,
        subfilter=SigSeedSubFilter.PADES,
        certify=True,
        docmdp_permissions=MDPPerm.NO_CHANGES,
    )
    signed = BytesIO()
    try:
        writer = IncrementalPdfFileWriter(BytesIO(document))
        PdfSigner(metadata, signer).sign_pdf(  # pyright: ignore[reportUnknownMemberType]
            writer, output=signed
        )
    except (PdfError, SigningError, ValueError) as error:
        raise CertificateError(f"does not sign: {error}") from error
    return signed.getvalue()


def _open(certificate: bytes, passphrase: bytes | None) -> SimpleSigner:
    try:
        signer: SimpleSigner = SimpleSigner.load_pkcs12_data(certificate, (), passphrase)
    except (PdfError, SigningError, ValueError, TypeError) as error:
        raise CertificateError(
            "is no PKCS #12 file that this pass phrase opens; give the right one with --passphrase"
        ) from error
    except AttributeError as error:  # the library's, where a certificate lies there alone
        raise CertificateError(NO_PAIR) from error
    if signer.signing_cert is None:
        raise CertificateError(NO_PAIR)
    return signer
