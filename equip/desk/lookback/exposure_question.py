"""A question of exposure as somebody asks it: what is in doubt by its name, and the answer paged.

Asked on the command line or by an address. An address names a patient by their token only: a
reference must stand in no address and no log.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from equip import typed
from equip.desk.act.act import Refused
from equip.desk.clinic import Clinic
from equip.desk.lookback import exposure_answer, exposure_json
from equip.desk.lookback.exposed_now import mark, spot
from equip.desk.lookback.exposure_answer import ExposureAnswer, Scope
from equip.facts import Hazard
from equip.rules.fitness.stopping import USUAL
from equip.rules.lookback.hazards import HAZARDS
from equip.rules.lookback.sweep import Exposure
from equip.store.ledger.about import told_about
from equip.typed import Mistyped

BY = ("load", "machine", "patient", "item", "who", "lot")
_MOST_GENERATIONS = 20
_EXAMPLE = "2026-02-04T00:00:00+00:00"


@dataclass(frozen=True, slots=True)
class Spelling:
    """How a name is spelt where the question is asked, what a time needs there besides, and
    whether a patient may be named by their reference."""

    before: str
    after: str
    hint: str = ""
    references: bool = False

    def __call__(self, name: str) -> str:
        return f"{self.before}{name}{self.after}"


IN_ADDRESS = Spelling("“", "”", "; write + as %2B")
ON_COMMAND_LINE = Spelling("--", "", references=True)


@dataclass(frozen=True, slots=True)
class ExposureQuestion:
    """What is asked by (one of `BY`) and its names, between which times, against what."""

    by: str
    names: tuple[str, ...]
    since: datetime | None
    until: datetime | None
    hazard: Hazard
    generations: int
    said: Mapping[str, Any]
    spelt: Spelling = IN_ADDRESS


Given = Mapping[str, Sequence[str]]


def read_question(given: Given, spelt: Spelling = IN_ADDRESS) -> ExposureQuestion:
    """A question from names and values as they were given; Refused if it makes no sense."""
    by = [name for name in BY if given.get(name)]
    if len(by) != 1:
        raise Refused(f"Ask by one of {', '.join(BY)}; {len(by)} of them were read.")
    names = tuple(given[by[0]])
    if len(names) > 1 and by[0] != "load":
        raise Refused(f"{len(names)} times {spelt(by[0])} was read: only a load may be repeated.")
    since, until = _time(given, "from", spelt), _time(given, "to", spelt)
    if since is not None and until is not None and until < since:
        raise Refused(f"The time ends before it begins: mend {spelt('from')} or {spelt('to')}.")
    hazard, generations = _hazard(given, spelt), _generations(given, spelt)
    said: dict[str, Any] = {by[0]: list(names) if by[0] == "load" else names[0]}
    if by[0] == "patient" and spelt.references:
        said["patient"] = "as asked"  # it may be a reference, which no answer repeats
    said |= {name: given[name][0] for name in ("from", "to") if given.get(name)}
    said |= {"hazard": hazard, "generations": generations}
    return ExposureQuestion(by[0], names, since, until, hazard, generations, said, spelt)


def _time(given: Given, name: str, spelt: Spelling) -> datetime | None:
    text = _one(given, name, spelt)
    if not text:
        return None
    try:
        return typed.moment(text)
    except Mistyped as problem:
        # Without what was read: somebody may have put a patient's reference there.
        says = problem.says.removesuffix(".")
        raise Refused(f"{spelt(name)} {says}{spelt.hint}.") from None


def _hazard(given: Given, spelt: Spelling) -> Hazard:
    text = _one(given, "hazard", spelt) or USUAL
    for hazard in HAZARDS:
        if text == hazard:
            return hazard
    raise Refused(f"The hazard is none that is known here: it is {', '.join(HAZARDS)}.")


def _generations(given: Given, spelt: Spelling) -> int:
    text = _one(given, "generations", spelt) or "1"
    try:
        return typed.whole(text, least=1, most=_MOST_GENERATIONS)
    except Mistyped:
        says = f"{spelt('generations')} is a whole number from 1 to {_MOST_GENERATIONS}."
        raise Refused(says) from None


def _one(given: Given, name: str, spelt: Spelling) -> str:
    values = given.get(name) or [""]
    if len(values) > 1:
        raise Refused(f"{spelt(name)} was read {len(values)} times: give it once.")
    return values[0]


def scope_of(clinic: Clinic, asked: ExposureQuestion) -> Scope:
    """What the question puts in doubt, its names looked up."""
    name, since, until = asked.names[0], asked.since, asked.until
    match asked.by:
        case "load":
            loads = tuple(exposure_answer.load_named(clinic, one) for one in asked.names)
            return Scope(loads=loads)
        case "lot":
            return exposure_answer.of_lot(clinic, exposure_answer.lot_named(clinic, name))
        case "patient":
            return Scope(patient=_patient(clinic, asked), since=since, until=until)
    if since is None:
        raise _lacks(asked, "from")
    if asked.by == "item":
        return exposure_answer.of_item(clinic, exposure_answer.item_named(clinic, name), since)
    if until is None:
        raise _lacks(asked, "to")
    if asked.by == "machine":
        machine = exposure_answer.item_named(clinic, name, "D")
        return exposure_answer.of_machine(clinic, machine, since, until)
    return exposure_answer.of_person(
        clinic, exposure_answer.person_named(clinic, name), since, until
    )


def _lacks(asked: ExposureQuestion, name: str) -> Refused:
    spelt = asked.spelt
    return Refused(f"Give {spelt(name)}: a time with its offset, as {_EXAMPLE}{spelt.hint}.")


def _patient(clinic: Clinic, asked: ExposureQuestion) -> str:
    """Their token, if they are one of ours. What else was given is not repeated: it may be a
    name."""
    name = asked.names[0]
    if asked.spelt.references and (tokens := clinic.vault.all_of(name)):
        if len(tokens) > 1:
            raise Refused(
                "This reference was written in two ways and stands under more than one token: "
                f"ask by each by itself, {' and '.join(tokens)}."
            )
        return tokens[0]
    if name.startswith("t") and len(name) == 13 and told_about(clinic.store, name):
        return name
    if asked.spelt.references:
        raise Refused("No patient goes by that reference here: check the spelling.")
    raise Refused("Ask by the patient's token, as it stands in the book: a reference is not taken.")


def whole_answer(clinic: Clinic, asked: ExposureQuestion) -> ExposureAnswer:
    """All of the answer to a question."""
    return exposure_answer.look_back(
        clinic, scope_of(clinic, asked), asked.hazard, asked.generations
    )


def paged_answer(clinic: Clinic, asked: ExposureQuestion, after: str, limit: int) -> dict[str, Any]:
    """As `lookback --json` has it, with *limit* of its exposures from *after* on.

    *patients* and *uses* are those of the whole answer.
    """
    place = spot(after)
    whole = whole_answer(clinic, asked)
    ordered = sorted(whole.exposures, key=_spot)
    rest = [one for one in ordered if place is None or _spot(one) > place]
    shown = replace(whole, exposures=tuple(rest[:limit]))
    said = exposure_json.of_answer(shown, exposure_json.AnswerNames(clinic), dict(asked.said))
    return said | {
        "patients": len({one.patient for one in ordered}),
        "uses": len(ordered),
        "next": mark(_spot(rest[limit - 1])) if len(rest) > limit else None,
    }


def _spot(exposure: Exposure) -> tuple[int, str, str]:
    return exposure.at, exposure.item, exposure.use
