"""The card for a unit that does not boot the stick: what to change in its firmware, and back."""

from __future__ import annotations

from pathlib import Path
from textwrap import wrap
from typing import Final

from closeout.model.frozen import frozen
from closeout.report.html import Html, fill, joined

STYLE: Final = Path(__file__).with_name("boot_card.css")
TITLE: Final = "When a unit does not boot the stick"
CAUTION: Final = (
    "Before anything here is changed: where a disk is encrypted, a changed setting of firmware or"
    " Secure Boot can make its system ask for the recovery key at the next start. Ask the customer"
    " first whether the disk is encrypted and whether they have that key; without it, do not go on."
    " Never clear the TPM or its keys. The maker's service instructions come before this card."
)
FIRST: Final = (
    "Try the one-time boot menu first (often F12, F10, F9, F8 or Esc at switching on): it changes"
    " no setting. Try a port at the unit itself, and another one; no hub, no dock."
)
PUT_BACK: Final = (
    "Write down what was set before. Put back every setting that was changed before the unit goes"
    " back, and start it once into the customer's system or as far as its sign-in."
)
WIDTH: Final = 78


@frozen
class Setting:
    """One setting of a firmware, by the names that it usually has."""

    name: str
    change: str
    why: str


SETTINGS: Final = (
    Setting(
        name="Boot order, boot menu",
        change="USB before the disk, or the boot menu switched on",
        why="the unit goes straight to its disk",
    ),
    Setting(
        name="USB boot",
        change="on (Boot from USB, External device boot)",
        why="the stick is not in the boot menu",
    ),
    Setting(
        name="Secure Boot: third-party certificate",
        change='on ("Allow third-party UEFI CA", "3rd party CA"); Secure Boot itself stays on',
        why="the stick is refused as not trusted, or a security violation is shown",
    ),
    Setting(
        name="Secure Boot",
        change="off, only where the setting above is not there and the depot allows it",
        why="still refused as not trusted",
    ),
    Setting(
        name="Fast boot",
        change="off, or thorough",
        why="keys and the stick are not looked for at switching on",
    ),
    Setting(
        name="Network boot",
        change="on, and IPv4 before IPv6, where the depot starts units over the network",
        why="no USB port can be used",
    ),
    Setting(
        name="Legacy support (CSM)",
        change="as it is; on only for a unit without UEFI",
        why="the unit knows no UEFI",
    ),
    Setting(
        name="Storage mode (RAID, RST, VMD)",
        change="do not change it: the customer's system may no longer start",
        why="the check says itself that a disk is hidden by it",
    ),
)
"""Common practice over many makers; what a setting is called differs, and the maker's word goes."""


def render_boot_card() -> str:
    """The card as one HTML file, one A4 sheet."""
    rows = joined(_row(setting) for setting in SETTINGS)
    return fill(
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        '<meta http-equiv="Content-Security-Policy" content="default-src \'none\';'
        " style-src 'unsafe-inline'\">\n<title>closeout: {}</title>\n"
        "<style>\n{}</style>\n</head>\n<body>\n<main>\n<h1>{}</h1>\n"
        '<p>Order <span class="line"></span> Changed by <span class="line"></span></p>\n'
        '<p class="caution"><b>Caution.</b> {}</p>\n<p>{}</p>\n'
        '<table>\n<thead><tr><th scope="col">Setting</th><th scope="col">Change to</th>'
        '<th scope="col">When</th><th scope="col">Was</th><th scope="col">Changed</th>'
        '<th scope="col">Put back</th></tr></thead>\n<tbody>\n{}</tbody>\n</table>\n'
        "<p>{}</p>\n</main>\n</body>\n</html>\n",
        TITLE,
        Html(STYLE.read_text(encoding="utf-8")),
        TITLE,
        CAUTION,
        FIRST,
        rows,
        PUT_BACK,
    )


def _row(setting: Setting) -> Html:
    return fill(
        '<tr><th scope="row">{}</th><td>{}</td><td>{}</td><td class="was"></td>'
        '<td class="box" aria-label="changed">\N{BALLOT BOX}</td>'
        '<td class="box" aria-label="put back">\N{BALLOT BOX}</td></tr>\n',
        setting.name,
        setting.change,
        setting.why,
    )


def render_boot_card_text() -> str:
    """The same as plain text, for any printer."""
    lines = [TITLE, "=" * len(TITLE), "", "Order ____________________  Changed by ____________"]
    for text in (f"CAUTION: {CAUTION}", FIRST):
        lines += ["", *wrap(text, WIDTH)]
    for setting in SETTINGS:
        lines += ["", f"{setting.name}   (was: ______________)"]
        for told in (f"change to: {setting.change}", f"when: {setting.why}"):
            lines += wrap(told, WIDTH, initial_indent="  ", subsequent_indent="    ")
        lines.append("  [ ] changed   [ ] put back")
    return "\n".join([*lines, "", *wrap(PUT_BACK, WIDTH)]) + "\n"
