"""Answers about exposure as JSON: names as people know them, patients as tokens unless unmasked."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from equip import facts
from equip.desk.act.act import Refused, acting
from equip.desk.clinic import Clinic
from equip.desk.lookback.exposure_answer import ExposureAnswer, open_now
from equip.facts import moment
from equip.rules.lookback.sweep import Contact, Exposure, Source
from equip.store.fold.exposures import tallies
from equip.store.readings import item_rows, past_rows, use_rows

Json = dict[str, Any]


@dataclass
class AnswerNames:
    """What items, loads and patients are called in an answer; looked up once."""

    clinic: Clinic
    references: Mapping[str, str] = field(default_factory=dict)
    _seen: dict[str, str] = field(default_factory=dict)

    def __call__(self, tag: str) -> str:
        """The alias that a thing or a load came under, else our tag."""
        if tag not in self._seen:
            store = self.clinic.store
            name = past_rows.called_before(store, tag)
            if name is None:
                name = next(iter(item_rows.aliases_of(store, tag)), tag)
            self._seen[tag] = name
        return self._seen[tag]

    def patient(self, token: str | None) -> str | None:
        return None if token is None else self.references.get(token, token)


def unmasked(clinic: Clinic, tokens: Iterable[str], reason: str) -> dict[str, str]:
    """Who these patients are; that each was looked up, and why, is written down first."""
    if not reason.strip():
        raise Refused("Give --reason: it is written down who was looked up, and why.")
    wanted = sorted(set(tokens))
    with acting(clinic, by="") as act:
        for token in wanted:
            act.tell(facts.Unmasked, patient=token, reason=f"console: {reason.strip()}")
    return {token: clinic.vault.reveal(token) for token in wanted}


def tokens_in(answer: ExposureAnswer) -> set[str]:
    """Every patient whom an answer names."""
    found = {one.patient for one in (*answer.exposures, *answer.already_open)}
    found |= {
        source.patient
        for one in (*answer.exposures, *answer.already_open)
        for source in one.sources
        if source.patient is not None
    }
    return found | {gap.patient for gap in answer.gaps}


def of_answer(answer: ExposureAnswer, names: AnswerNames, asked: Json) -> Json:
    """A look-back's answer."""
    return {
        "asked": asked,
        "loads_in_doubt": sorted(names(load) for load in answer.scope.loads),
        "exposures": [of_exposure(one, names) for one in answer.exposures],
        "already_open": [of_exposure(one, names) for one in answer.already_open],
        "patients": len({one.patient for one in answer.exposures}),
        "uses": len(answer.exposures),
        "gaps": [_gap(gap, names) for gap in answer.gaps],
        "traceable": answer.traceable,
    }


def of_exposure(exposure: Exposure, names: AnswerNames) -> Json:
    surest = max(exposure.sources, key=lambda source: (source.certainty, -source.at))
    return {
        "patient": names.patient(exposure.patient),
        "item": names(exposure.item),
        "used_at": stamp(exposure.at),
        "certainty": exposure.certainty.word,
        "share": float(exposure.share),
        "sources": [_source(source, names) for source in _by_time(exposure.sources)],
        "path": list(surest.path.entries()),
    }


def exposed_now(clinic: Clinic) -> Json:
    """How many uses are open exposures, how many ever were, what share of all is traceable."""
    counts = tallies(clinic.store)
    names = AnswerNames(clinic)
    decided = use_rows.exposures_decided(clinic.store)
    found = [one for one in open_now(clinic) if (one.item, one.use) not in decided]
    uses = counts.get("uses", 0)
    return {
        "exposed": counts.get("open", 0),
        "exposed_ever": counts.get("exposed", 0),
        "uses": uses,
        "traceable": 1 - counts.get("gaps", 0) / uses if uses else None,
        "as_of": clinic.clock().isoformat(),
        "open": [of_exposure(one, names) for one in found],
    }


def _source(source: Source, names: AnswerNames) -> Json:
    return {
        "patient": names.patient(source.patient),
        "used_at": stamp(source.at),
        "certainty": source.certainty.word,
        "share": float(source.share),
    }


def _by_time(sources: Iterable[Source]) -> list[Source]:
    return sorted(sources, key=lambda source: (source.at, source.patient or "", source.use))


def _gap(gap: Contact, names: AnswerNames) -> Json:
    return {
        "patient": names.patient(gap.patient),
        "item": names(gap.item),
        "used_at": stamp(gap.at),
    }


def stamp(at: int) -> str:
    return moment(at).isoformat()
