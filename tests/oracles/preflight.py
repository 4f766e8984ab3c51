"""PDF/A as the validator of Apache PDFBox judges it (Debian's libpdfbox2-java).

It knows PDF/A-1b alone. What part 3 allows and part 1 does not is left out by its words; what is
left is the same in both: fonts and their widths, streams, operators, colours, actions, the trailer.
"""

import re
import shutil
import subprocess
from pathlib import Path

JARS = (
    *("preflight", "pdfbox2", "fontbox2", "xmpbox", "commons-logging", "javax.activation"),
    "jaxb-api",
)
PLACE = Path("/usr/share/java")
VALIDATOR = "org.apache.pdfbox.preflight.Validator_A1b"
OURS_ALONE = (
    re.compile(r"Invalid version of the ICCProfile"),  # version 4, since part 2
    re.compile(r"EmbeddedFile entry is present"),  # what part 3 is for
    re.compile(r"can't convert to Destination COSObject"),  # one that is pointed at
    re.compile(r"Cannot find a definition for the namespace http://www.aiim.org/pdfua/ns/id/"),
)
"""The last one is defined, and behind its use: the library wants it before."""
ERROR = re.compile(r"^-?\d+(?:\.\d+)* : .*$", re.MULTILINE)


def reason_to_skip() -> str:
    if shutil.which("java") and all((PLACE / f"{jar}.jar").exists() for jar in JARS):
        return ""
    return "java, libpdfbox2-java, libactivation-java and libjaxb-api-java are not all installed"


def find_errors(document: Path) -> set[str]:
    """Its errors in words, without those that are none in part 3."""
    jars = ":".join(str(PLACE / f"{jar}.jar") for jar in JARS)
    ran = subprocess.run(
        ("java", "-cp", jars, VALIDATOR, document), capture_output=True, text=True, check=False
    )
    found = set(ERROR.findall(ran.stdout))
    assert found, ran.stderr  # ours are always among them
    return {line for line in found if not any(known.search(line) for known in OURS_ALONE)}
