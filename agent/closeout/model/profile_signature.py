"""Whether the depot's lead signed the profile that a unit was judged by."""

from __future__ import annotations

from enum import Enum

from closeout.model.frozen import frozen


class SignatureState(Enum):
    """What the lead's signature says of the profile in force."""

    NOT_TOLD = "not told"
    """By an older report, which did not look."""
    UNSIGNED = "unsigned"
    SUPERSEDED = "superseded"
    """It was signed, and the lead has signed another one since."""
    SIGNED = "signed"


@frozen
class ProfileSignature:
    """The state; `reason` says why it is not signed, the others are of the signature.

    `newer` is the version of the set that took its place.
    """

    state: SignatureState = SignatureState.NOT_TOLD
    lead: str = ""
    version: str = ""
    on: str = ""
    newer: str = ""
    reason: str = ""
