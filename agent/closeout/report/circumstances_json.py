"""Who judged what with what, as it stands in `report.json` under `circumstances`."""

from __future__ import annotations

from closeout.model.handling import Handling, Omission, OrderFacts
from closeout.model.moment import Moment
from closeout.model.profile_signature import ProfileSignature
from closeout.model.report import Circumstances, SourceFile


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
        "profile_signature": _tree_of_signature(circumstances.profile_signature),
        "repair_map": _tree_of_possible(circumstances.repair_map),
        "handling": _tree_of_handling(circumstances.handling),
        "order_facts": _tree_of_facts(circumstances.order_facts),
        "reopened": list(circumstances.reopened),
        "is_draft": circumstances.is_draft,
    }


def tree_of_moment(moment: Moment) -> dict[str, object]:
    """The object of a time and its source."""
    return {"text": moment.text, "source": moment.source}


def _tree_of_source(source: SourceFile) -> dict[str, object]:
    return {"name": source.name, "revision": source.revision, "digest": source.digest}


def _tree_of_possible(source: SourceFile | None) -> dict[str, object] | None:
    return None if source is None else _tree_of_source(source)


def _tree_of_signature(signature: ProfileSignature) -> dict[str, object]:
    return {
        "state": signature.state.value,
        "lead": signature.lead,
        "version": signature.version,
        "on": signature.on,
        "newer": signature.newer,
        "reason": signature.reason,
    }


def _tree_of_handling(handling: Handling) -> dict[str, object]:
    return {
        "operator": handling.operator,
        "station": handling.station,
        "stick": handling.stick,
        "stick_build": handling.stick_build,
        "label": handling.label,
    }


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


def _tree_of_omission(omission: Omission) -> dict[str, object]:
    return {"what": omission.what, "reason": omission.reason}
