"""The list of a look-back: worked out anew each time, kept as it was, compared with what it was."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from hashlib import sha256
from typing import Any

import msgspec

from equip import facts
from equip.desk.clinic import Clinic
from equip.desk.lookback.exposure_answer import ExposureAnswer, Scope, look_back
from equip.facts import UseInDoubt
from equip.rules.lookback.case_stages import Case
from equip.rules.lookback.sweep import Contact, Exposure
from equip.store.kept import files
from equip.store.readings import case_rows

Key = tuple[str, str]
_encode = msgspec.json.Encoder(order="sorted").encode


@dataclass(frozen=True, slots=True)
class Changes:
    """What late entries did to a list since it was taken: uses as (item, use)."""

    added: tuple[Key, ...] = ()
    gone: tuple[Key, ...] = ()
    other: tuple[Key, ...] = ()

    @property
    def any(self) -> bool:
        return bool(self.added or self.gone or self.other)


def answer(clinic: Clinic, case: Case) -> ExposureAnswer:
    """Who may have been exposed by what this case holds in doubt, on present knowledge.

    A case found unfounded holds nothing in doubt any more, so its list is empty.
    """
    if case.unfounded:
        case = replace(case, loads=(), gates=(), patient="")
    scope = Scope(
        loads=case.loads,
        gates=case.gates,
        patient=case.patient,
        since=case.since if case.patient else None,
        until=case.until if case.patient else None,
        standing=True,
    )
    return look_back(clinic, scope, case.hazard)


def spelled(found: ExposureAnswer) -> bytes:
    """The one spelling of a list: tags and tokens, times in µs, shares as fractions."""
    uses = [
        {
            "item": one.item,
            "use": one.use,
            "patient": one.patient,
            "at": one.at,
            "certainty": one.certainty.word,
            "share": str(one.share),
            "sources": sorted(
                ([s.use, s.patient or "", s.at, s.certainty.word, str(s.share)])
                for s in one.sources
            ),
        }
        for one in sorted(found.exposures, key=lambda one: (one.at, one.item, one.use))
    ]
    gaps = [
        {"item": one.item, "use": one.ref, "patient": one.patient, "at": one.at}
        for one in sorted(found.gaps, key=lambda one: (one.at, one.item, one.ref))
    ]
    return _encode({"uses": uses, "gaps": gaps})


def digest(found: ExposureAnswer) -> str:
    """The SHA-256 of a list, in hex."""
    return sha256(spelled(found)).hexdigest()


def since_listed(
    clinic: Clinic, listed: facts.DoubtListed, found: ExposureAnswer
) -> Changes | None:
    """What is otherwise now; None where the list as it was is not kept any more."""
    kept = files.fetch(clinic.store, listed.digest)
    if kept is None:
        return None
    was, now = _by_use(kept), _by_use(spelled(found))
    return Changes(
        added=tuple(key for key in now if key not in was),
        gone=tuple(key for key in was if key not in now),
        other=tuple(key for key in now if key in was and now[key] != was[key]),
    )


def _by_use(spelling: bytes) -> dict[Key, Any]:
    return {(one["item"], one["use"]): one for one in msgspec.json.decode(spelling)["uses"]}


def undecided(clinic: Clinic, found: Iterable[Exposure]) -> list[Exposure]:
    """Those of *found* of which some source is not decided, with these sources alone."""
    decided = case_rows.decided_pairs(clinic.store)
    left = (
        one._replace(
            sources=tuple(s for s in one.sources if (one.item, one.use, s.use) not in decided)
        )
        for one in found
    )
    return [one for one in left if one.sources]


def as_uses(found: Sequence[Exposure]) -> tuple[UseInDoubt, ...]:
    """Exposures as a decision names them."""
    return tuple(
        UseInDoubt(
            item=one.item,
            use=one.use,
            patient=one.patient,
            sources=tuple(source.use for source in one.sources),
        )
        for one in found
    )


def patients_in(found: Iterable[Exposure]) -> int:
    return len({one.patient for one in found})


def gap_uses(found: Iterable[Contact]) -> int:
    return len({(one.item, one.ref) for one in found})
