"""Who judged what with what, out of a `report.json`."""

from __future__ import annotations

from closeout.model.handling import Handling, Omission, OrderFacts, PartChange
from closeout.model.moment import Moment
from closeout.model.profile_signature import ProfileSignature, SignatureState
from closeout.model.report import Circumstances, SourceFile
from closeout.report.fields import Fields


def load_circumstances(circumstances: Fields) -> Circumstances:
    """The circumstances in their object; what an older report lacks is empty."""
    return Circumstances(
        agent=circumstances.text("agent"),
        rules=_load_source(circumstances.fields("rules")),
        profile=_load_source(circumstances.fields("profile")),
        work_order=circumstances.optional("work_order", _load_source),
        order=circumstances.text("order"),
        repairs=circumstances.texts("repairs"),
        attempt=circumstances.integer("attempt"),
        medium=circumstances.text("medium"),
        kernel=circumstances.text("kernel"),
        evidence_digest=circumstances.text("evidence_digest"),
        readings=circumstances.integer("readings"),
        started=load_moment(circumstances.fields("started")),
        finished=load_moment(circumstances.fields("finished")),
        profile_set=circumstances.optional("profile_set", _load_source),
        profile_signature=circumstances.optional("profile_signature", _load_signature)
        or ProfileSignature(),
        repair_map=circumstances.optional("repair_map", _load_source),
        handling=circumstances.optional("handling", _load_handling) or Handling(),
        order_facts=circumstances.optional("order_facts", _load_facts) or OrderFacts(),
        reopened=circumstances.texts("reopened", []),
        is_draft=circumstances.flag("is_draft", default=False),
    )


def load_moment(moment: Fields) -> Moment:
    """The time in its object."""
    return Moment(text=moment.text("text"), source=moment.text("source"))


def _load_source(source: Fields) -> SourceFile:
    return SourceFile(
        name=source.text("name"), revision=source.text("revision"), digest=source.text("digest")
    )


def _load_signature(signature: Fields) -> ProfileSignature:
    return ProfileSignature(
        state=signature.choice("state", SignatureState),
        lead=signature.text("lead"),
        version=signature.text("version"),
        on=signature.text("on"),
        newer=signature.text("newer"),
        reason=signature.text("reason"),
    )


def _load_handling(handling: Fields) -> Handling:
    return Handling(
        operator=handling.text("operator"),
        station=handling.text("station"),
        stick=handling.text("stick"),
        stick_build=handling.text("stick_build"),
        label=handling.text("label"),
    )


def _load_facts(facts: Fields) -> OrderFacts:
    return OrderFacts(
        parts=tuple(_load_part(part) for part in facts.each("parts")),
        not_present=tuple(_load_omission(each) for each in facts.each("not_present")),
        declined=tuple(_load_omission(each) for each in facts.each("declined")),
        firmware_password=facts.text("firmware_password"),
        encryption=facts.text("encryption"),
        recovery_key=facts.text("recovery_key"),
    )


def _load_part(part: Fields) -> PartChange:
    return PartChange(
        kind=part.text("kind"),
        is_fitted=part.flag("is_fitted"),
        part_number=part.text("part_number"),
        serial=part.text("serial"),
    )


def _load_omission(omission: Fields) -> Omission:
    return Omission(what=omission.text("what"), reason=omission.text("reason"))
