"""Who judged what with what, as it stands in `report.json` under `circumstances`."""

from __future__ import annotations

from closeout.model.handling import Handling, Omission, OrderFacts, PartChange
from closeout.model.moment import Moment
from closeout.model.report import Circumstances, SourceFile
from closeout.report.fields import Fields


def tree_of_circumstances(circumstances: Circumstances) -> dict[str, object]:
    """The object of the circumstances."""
    return {
        "agent": circumstances.agent,
        "rules": _tree_of_source(circumstances.rules),
        "profile": _tree_of_source(circumstances.profile),
        "work_order": _tree_of_possible(circumstances.work_order),
        "order": circumstances.order,
        "repairs": list(circumstances.repairs),
        "attempt": circumstances.attempt,
        "medium": circumstances.medium,
        "kernel": circumstances.kernel,
        "evidence_digest": circumstances.evidence_digest,
        "readings": circumstances.readings,
        "started": tree_of_moment(circumstances.started),
        "finished": tree_of_moment(circumstances.finished),
        "profile_set": _tree_of_possible(circumstances.profile_set),
        "repair_map": _tree_of_possible(circumstances.repair_map),
        "handling": _tree_of_handling(circumstances.handling),
        "order_facts": _tree_of_facts(circumstances.order_facts),
        "reopened": list(circumstances.reopened),
        "is_draft": circumstances.is_draft,
    }


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
        repair_map=circumstances.optional("repair_map", _load_source),
        handling=circumstances.optional("handling", _load_handling) or Handling(),
        order_facts=circumstances.optional("order_facts", _load_facts) or OrderFacts(),
        reopened=circumstances.texts("reopened", []),
        is_draft=circumstances.flag("is_draft", default=False),
    )


def tree_of_moment(moment: Moment) -> dict[str, object]:
    """The object of a time and its source."""
    return {"text": moment.text, "source": moment.source}


def load_moment(moment: Fields) -> Moment:
    """The time in its object."""
    return Moment(text=moment.text("text"), source=moment.text("source"))


def _tree_of_source(source: SourceFile) -> dict[str, object]:
    return {"name": source.name, "revision": source.revision, "digest": source.digest}


def _tree_of_possible(source: SourceFile | None) -> dict[str, object] | None:
    return None if source is None else _tree_of_source(source)


def _load_source(source: Fields) -> SourceFile:
    return SourceFile(
        name=source.text("name"), revision=source.text("revision"), digest=source.text("digest")
    )


def _tree_of_handling(handling: Handling) -> dict[str, object]:
    return {
        "operator": handling.operator,
        "station": handling.station,
        "stick": handling.stick,
        "stick_build": handling.stick_build,
        "label": handling.label,
    }


def _load_handling(handling: Fields) -> Handling:
    return Handling(
        operator=handling.text("operator"),
        station=handling.text("station"),
        stick=handling.text("stick"),
        stick_build=handling.text("stick_build"),
        label=handling.text("label"),
    )


def _tree_of_facts(facts: OrderFacts) -> dict[str, object]:
    return {
        "parts": [
            {
                "kind": part.kind,
                "is_fitted": part.is_fitted,
                "part_number": part.part_number,
                "serial": part.serial,
            }
            for part in facts.parts
        ],
        "not_present": [_tree_of_omission(each) for each in facts.not_present],
        "declined": [_tree_of_omission(each) for each in facts.declined],
        "firmware_password": facts.firmware_password,
        "encryption": facts.encryption,
        "recovery_key": facts.recovery_key,
    }


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


def _tree_of_omission(omission: Omission) -> dict[str, object]:
    return {"what": omission.what, "reason": omission.reason}


def _load_omission(omission: Fields) -> Omission:
    return Omission(what=omission.text("what"), reason=omission.text("reason"))
