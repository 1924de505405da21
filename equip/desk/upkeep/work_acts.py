"""Work on a thing from raised to signed off; each step refused with a sentence if it cannot be."""

from datetime import date, datetime
from decimal import Decimal

from equip import facts
from equip.desk.act import keep_back
from equip.desk.act.act import Act, Refused
from equip.desk.clinic import Clinic
from equip.desk.register import items
from equip.desk.upkeep import certificates, duty_acts, meter_acts
from equip.desk.upkeep.certificates import Paper
from equip.facts import Told, WorkDecision
from equip.rules.fitness.held import KEPT_FOR_WORK
from equip.rules.fitness.standing import Standing
from equip.rules.fitness.statement import Recorded, recorded
from equip.rules.upkeep.work import Work
from equip.scan import show_tag
from equip.store.readings import work_rows

"""The code of a quarantine that work brought about: only such a one is lifted with it."""


def raise_work(act: Act, tag: str, what: str, *, duty: str = "", out_of_use: bool = False) -> str:
    """Something is to be done; the name of the work. Out of use is a choice, and a quarantine."""
    stands = items.known(act, tag)
    if stands.where == "retired":
        raise Refused(f"{show_tag(tag)} was retired: nothing is done about it any more.")
    if not what.strip():
        raise Refused("Say what is to be done: it is what whoever does it reads.")
    if duty:
        duty_acts.duty_of(act, tag, duty)
        if any(
            one.raised and one.raised.duty == duty for one in work_rows.open_work(act.store, tag)
        ):
            raise Refused(f"Work for its {duty} has been raised already and is not signed off.")
    work = f"work-{act.id[:8]}"
    act.tell(
        facts.WorkRaised, work=work, item=tag, what=what.strip(), duty=duty, out_of_use=out_of_use
    )
    if out_of_use:
        _keep_back(act, tag, f"out of use for work: {what.strip()}")
    return work


def _keep_back(act: Act, tag: str, says: str) -> None:
    why = Told(code=KEPT_FOR_WORK, says=says)
    keep_back.quarantine(act, tag, why, "out-of-use")


def the_work(act: Act, name: str) -> Work:
    """The piece of work, not signed off; Refused otherwise."""
    work = work_rows.work_of(act.store, name)
    if work is None:
        raise Refused("There is no such work: look under Due, Work.")
    if work.signed is not None:
        raise Refused("This work was signed off: raise another.")
    return work


def assign(act: Act, name: str, *, person: str = "", firm: str = "") -> None:
    """To a person who works here or to a firm; the latest one holds."""
    work = the_work(act, name)
    if bool(person) == bool(firm.strip()):
        raise Refused("Give it to a person who works here, or to a firm outside: one of the two.")
    if person:
        member = act.house.staff.get(person)
        if member is None or not member.active:
            raise Refused("Nobody who works here goes by that badge.")
    act.tell(facts.WorkAssigned, work=name, item=work.item, person=person, firm=firm.strip())


# --- away and back ------------------------------------------------------------------------------


def known_of(clinic: Clinic, stands: Standing, now: datetime) -> Recorded:
    """What this book knows of its decontamination, in the clinic's own time."""
    house = clinic.house
    return recorded(
        stands,
        house.kind(stands.type),
        now,
        lambda at: f"{at.astimezone(house.zone):%Y-%m-%d %H:%M}",
    )


def send(act: Act, name: str, receiver: str, declared: str = "") -> None:
    """Sent away. Where the record shows no decontamination, the sender says how it is."""
    work = the_work(act, name)
    stands = act.standing(work.item)
    known = known_of(act.clinic, stands, act.at)
    if not known.shown and not declared.strip():
        raise Refused(
            "The record shows no effective decontamination of it. Say what was done to it, or that"
            " nothing was and the receiver has agreed: whoever opens the parcel reads it."
        )
    items.send_out(
        act, work.item, receiver, "service" if work.raised and work.raised.duty else "repair"
    )
    act.tell(
        facts.WorkSent,
        work=name,
        item=work.item,
        receiver=receiver.strip(),
        shown=known.shown,
        recorded=known.lines,
        declared=declared.strip(),
    )


def receive(act: Act, name: str, sender: str = "") -> None:
    """Back: it arrives as from outside, and goes through its whole route before anybody uses it."""
    work = the_work(act, name)
    if not work.is_away:
        raise Refused("It is not away for this work.")
    told_by = sender.strip() or (work.sent.receiver if work.sent else "")
    if act.standing(work.item).where == "sent out":  # else its own page took it in already
        items.arrive(act, work.item, "repaired", told_by)
    act.tell(facts.WorkReceived, work=name, item=work.item, sender=told_by)


# --- done ---------------------------------------------------------------------------------------


def write_up(
    act: Act,
    name: str,
    done: date,
    found: str,
    left: str,
    *,
    parts: str = "",
    cost: Decimal | None = None,
    paper: Paper | None = None,
    issued: date | None = None,
    not_after: date | None = None,
    hours: Decimal | None = None,
) -> None:
    """As found and as left, parts, cost, the certificate; what contradicts itself is refused."""
    work = the_work(act, name)
    if not found.strip() or not left.strip():
        raise Refused("Say how it was found and how it was left: both are asked about later.")
    if cost is not None and cost < 0:
        raise Refused(f"A cost cannot be below nought; {cost} was read.")
    _check_days(act, work, done, issued, not_after)
    known = (work.done.certificate, work.done.certificate_name) if work.done else ("", "")
    digest, named = certificates.kept(act, paper, known)
    if hours is not None:
        meter_acts.read_meter(act, work.item, "hours", hours, note=f"with {name}")
    act.tell(
        facts.WorkDone,
        work=name,
        item=work.item,
        done=done,
        found=found.strip(),
        left=left.strip(),
        parts=parts.strip(),
        cost=cost,
        certificate=digest,
        certificate_name=named,
        issued=issued,
        not_after=not_after,
    )


def _check_days(
    act: Act, work: Work, done: date, issued: date | None, not_after: date | None
) -> None:
    today = act.house.today(act.now)
    if done > today:
        raise Refused(f"{done} has not come yet: give the day on which the work was done.")
    if work.sent is not None and done < (sent := act.house.today(work.sent.at)):
        raise Refused(f"It was sent away on {sent}: work of {done} was done before it left.")
    if issued is not None:
        if issued > today:
            raise Refused(f"The certificate is of {issued}, which has not come yet.")
        if issued < done:
            raise Refused(
                f"The certificate is of {issued}, before {done}, when the work was done: it is for"
                " something else, or one of the days is wrong."
            )
    if not_after is not None and not_after < (issued or done):
        raise Refused(f"The certificate ends on {not_after}, before it begins on {issued or done}.")


# --- signed off ---------------------------------------------------------------------------------


def sign_off(
    act: Act, name: str, decision: WorkDecision, reason: str = "", *, meets: bool = False
) -> bool:
    """A manager decides; whether it stays kept back. What else keeps it back is not touched."""
    work = the_work(act, name)
    member = act.house.staff.get(act.signed)
    if member is None or member.role != "manager":
        raise Refused("Work is signed off by a manager who signed in.")
    if work.done is None:
        raise Refused("It has not been written up: say first what was found and how it was left.")
    if work.is_away or act.standing(work.item).where == "sent out":
        raise Refused("It is still away: receive it first.")
    if decision == "keep" and not reason.strip():
        raise Refused("Say why it is kept back: it is read years later.")
    duty = work.raised.duty if work.raised else ""
    if meets and not duty:
        raise Refused("This work is for no duty, so it meets none.")
    act.tell(
        facts.WorkSignedOff,
        work=name,
        item=work.item,
        decision=decision,
        reason=reason.strip(),
        meets=meets,
    )
    if meets:
        duty_acts.meet_duty(
            act,
            work.item,
            duty,
            work.done.done,
            f"work {name}",
            not_after=work.done.not_after,
            work=name,
            certificate=work.done.certificate,
        )
    return _decide(act, work, decision, reason.strip())


def _decide(act: Act, work: Work, decision: WorkDecision, reason: str) -> bool:
    """Whether it is kept back after this. Back to service lifts what this work brought about, and
    nothing else; other work that takes it out of use keeps it so."""
    kept = act.standing(work.item).quarantines
    if decision == "keep":
        if not kept:
            _keep_back(act, work.item, reason)
        return True
    its = [one for one in kept if one.why.code == KEPT_FOR_WORK]
    others = work_rows.open_work(act.store, work.item)
    if any(one.work != work.work and one.raised and one.raised.out_of_use for one in others):
        return bool(kept)
    if its and "lift" not in act.house.rights(act.signed):
        raise Refused("You have no right to lift its quarantine: somebody with it signs this off.")
    said = reason or f"work {work.work} was signed off"
    for one in its:
        told = {"item": work.item, "reason": said, "why": one.why, "since": one.at}
        act.tell(facts.QuarantineLifted, **told)
    return len(its) < len(kept)
