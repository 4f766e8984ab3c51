"""The sample report's circumstances and hand-back list: every field of both says something."""

from closeout.model.handling import (
    HandBack,
    HandBackItem,
    Handling,
    Omission,
    OrderFacts,
    PartChange,
)
from closeout.model.moment import Moment
from closeout.model.profile_signature import ProfileSignature, SignatureState
from closeout.model.report import Circumstances, SourceFile


def sample_circumstances() -> Circumstances:
    """A second attempt on an order with a system board swap, from the stick."""
    return Circumstances(
        agent="closeout 0.1.0",
        rules=SourceFile(name="catalogue", revision="1.0", digest="sha256:" + "5a" * 32),
        profile=SourceFile(
            name="lumora-quill-14", revision="1.3", digest="sha256:" + "c0ffee42" * 8
        ),
        work_order=SourceFile(
            name="WO-20417.toml", revision="1", digest="sha256:" + "0badcafe" * 8
        ),
        order="WO-20417",
        repairs=("system-board", "battery"),
        attempt=2,
        medium="stick (build 2025-03-01)",
        kernel="6.1.0-18-amd64",
        evidence_digest="sha256:" + "3fa2c1d9" * 8,
        readings=412,
        started=Moment(text="2025-03-14T09:12:44Z", source="network"),
        finished=Moment(text="2025-03-14T09:13:02Z", source="network"),
        profile_set=SourceFile(name="profiles", revision="2025.3", digest="ab" * 32),
        profile_signature=ProfileSignature(
            state=SignatureState.SUPERSEDED,
            lead="L-01",
            version="2025.3",
            on="2025-09-14",
            newer="2025.4",
        ),
        repair_map=SourceFile(name="repairs", revision="2025.1", digest="cd" * 32),
        handling=Handling(
            operator="T-07", station="bench 4", stick="S-12", stick_build="2025-03-01"
        ),
        order_facts=OrderFacts(
            parts=(
                PartChange(kind="board", is_fitted=False, part_number="LQ-MB-2", serial="LM00417"),
                PartChange(kind="battery", is_fitted=True, part_number="LQ-P52", serial="LP77120"),
            ),
            not_present=(Omission(what="drive", reason="the customer keeps it"),),
            declined=(Omission(what="a new keyboard", reason="worn keys are fine"),),
            firmware_password="none",  # noqa: S106 - that there is none
            encryption="used",
            recovery_key="not confirmed",
        ),
        reopened=("touchpad",),
    )


def sample_hand_back() -> HandBack:
    """A field to program, and what nobody can scan."""
    return HandBack(
        items=(
            HandBackItem(
                title="Recovery key of an encrypted disk",
                action="Ask before firmware, Secure Boot or TPM is touched.",
                value="",
                found="",
                is_scannable=False,
                caution="Without the key the customer's files are lost.",
            ),
            HandBackItem(
                title="Serial number of the unit",
                action="Program it, restart, and check again.",
                value="LQ7K20418",
                found="filler 'Default string'",
                is_scannable=True,
                caution="",
            ),
        )
    )
