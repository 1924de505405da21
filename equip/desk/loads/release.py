"""Why a load may not be released, all of it in one place; its release, and its rejection."""

from collections.abc import Sequence
from datetime import datetime

from equip import facts
from equip.desk.act.act import Act, Refused
from equip.desk.act.rights import need
from equip.desk.clinic import Clinic
from equip.desk.cycles import reference_questions
from equip.desk.loads import indicators, release_questions, second_look
from equip.desk.loads.loads import process_of, programme_of, unsuited
from equip.desk.machines import sheets
from equip.desk.people import competence
from equip.desk.register import set_counts
from equip.facts import Told
from equip.rules.fitness.suiting import UNSUITED
from equip.rules.loads import release
from equip.rules.loads.load import Load
from equip.scan import show_tag
from equip.store.readings import case_rows, item_rows


def why_not_release(clinic: Clinic, load: Load, by: str, at: datetime) -> list[Told]:
    """Every reason why *by* may not release this load at *at*; empty means it may be released.

    Of the load itself and who asks: `rules/loads/release`. Of that person's competence:
    `desk/people/competence`. Where neither stops it, of the machine on the day it ran. What is
    asked beside the verdict, and what is held back, is settled as it is released.
    """
    rules = clinic.house.rules(at)
    of_the_load = release.why_not_release(
        load,
        by,
        clinic.house.rights(by),
        two_people=rules.flag("release.two-people"),
        corrected_two=rules.flag("release.corrected-two-people"),
        alone=second_look.alone_by_rule(clinic, at),
    )
    of_the_person = competence.why_not_release(clinic.house, by, at)
    in_doubt = _in_doubt(clinic, load)
    of_its_sets = set_counts.why_not_release(clinic, load, rules.text("count.release"))
    unread = [Told(code="indicator-missing", says=one) for one in indicators.missing(clinic, load)]
    stops = [*of_the_load, *of_the_person]
    return stops or [*in_doubt, *_why_not_run(clinic, load, at), *of_its_sets, *unread]


def _in_doubt(clinic: Clinic, load: Load) -> list[Told]:
    """The look-backs that hold this load in doubt, decided or not."""
    return [
        Told(
            code="load-in-doubt",
            says=f"Look-back {case.case} holds it in doubt: it is released only if that is found"
            " unfounded.",
        )
        for case in case_rows.doubts(clinic.store)
        if load.load in case.loads and not case.unfounded
    ]


def _why_not_run(clinic: Clinic, load: Load, at: datetime) -> list[Told]:
    """Why its machine was not to run on the day it did, as one reason."""
    machine = item_rows.item_row(clinic.store, load.machine)
    process = clinic.house.kind(machine.type).process if machine is not None else None
    if machine is None or process is None:
        return []
    hollow = sheets.has_hollow(clinic, load.covers)
    stops = sheets.why_not_run(clinic, load.machine, process, load.ran or at, hollow=hollow)
    if not stops:
        return []
    label = clinic.house.label(machine)
    says = f"On the day it ran, {label} was not to run: {' '.join(stops)}"
    return [Told(code="machine-not-to-run", says=says)]


def release_load(
    act: Act,
    load: Load,
    by: str,
    held: Sequence[str] = (),
    note: str = "",
    *,
    answer: str = "",
    seen: Sequence[str] | None = None,
    said: Sequence[str] | None = None,
) -> list[str]:
    """All of a passed load, or all but the packs named, may be used. What is held back, listed.

    It says Yes to what `release_questions` asks of the load; *said* are the codes of those that
    were on screen, None where whoever asks shows them all.

    What its cycle raises beside the verdict is answered first: *seen* are the codes of the
    questions that whoever gave the *answer* had before them.
    """
    if reasons := why_not_release(act.clinic, load, by, act.at):
        raise Refused(" ".join(reason.says for reason in reasons))
    kept = _held_back(act, load, held)
    goes = [item for put in load.inside if put.item not in kept for item in (put.item, *put.covers)]
    stays = [item for put in load.inside if put.item in kept for item in (put.item, *put.covers)]
    if not goes:
        raise Refused("Nothing of this load may be released: reject it instead.")
    stated = _stated(act, load, said)
    asked = reference_questions.answered(act, load, answer.strip(), seen)
    lapses, _ = competence.for_release(act, by)
    act.tell(
        facts.LoadReleased,
        load=load.load,
        released=tuple(goes),
        held=tuple(stays),
        note=note,
        asked=asked,
        answer=answer.strip() if asked else "",
        lapses=lapses,
        alone=release.is_alone(
            load, by, two_people=act.house.rules(act.at).flag("release.two-people")
        ),
        stated=stated,
    )
    return sorted(kept)


def _stated(act: Act, load: Load, said: Sequence[str] | None) -> tuple[Told, ...]:
    """What the release says Yes to; Refused where that changed since it was on screen."""
    stated = release_questions.asked_before(act.clinic, load).stated
    if said is not None and sorted(said) != sorted(one.code for one in stated):
        raise Refused("What is asked about this load has changed: read it again, then release it.")
    return stated


def _held_back(act: Act, load: Load, held: Sequence[str]) -> set[str]:
    """What somebody holds back, and what does not suit the programme: a log is not a load."""
    strange = [item for item in held if item not in {put.item for put in load.inside}]
    if strange:
        raise Refused(f"{show_tag(strange[0])} is not in this load.")
    machine = act.standing(load.machine)
    programme = programme_of(process_of(act, machine), load.programme)
    kept = set(held)
    for put in load.inside:
        found = unsuited(act, put.item, machine, programme, wrapped=put.wrapped)
        if any(reason.code in UNSUITED for reason in found):
            kept.add(put.item)
    return kept


def reject_load(act: Act, load: Load, by: str, reason: str) -> None:
    need(act, "release", "decide about loads", by)
    if load.state not in ("ended", "judged", "running"):
        raise Refused("Only a load that has run and is not decided can be rejected.")
    if not reason.strip():
        raise Refused("Give a reason: it is read years later.")
    act.tell(facts.LoadRejected, load=load.load, reason=reason.strip(), covers=load.covers)
