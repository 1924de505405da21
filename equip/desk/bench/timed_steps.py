"""Steps by hand with a lot: whether it may serve, how long it has to stay wet, who lets it go."""

from datetime import timedelta

from equip import facts
from equip.desk.act.act import Act
from equip.desk.act.answer import Answer, no, note
from equip.desk.act.as_told import rules_used
from equip.desk.act.rights import why_not_themselves
from equip.desk.machines import lots, waterline
from equip.desk.people.competence import Doer
from equip.facts import RouteStep, Told
from equip.rulebook.stopping import stopped_by
from equip.rules.bench import transitions
from equip.rules.bench.transitions import Context
from equip.rules.fitness.clocks import left_s, wet_until
from equip.rules.fitness.gates import gate_step
from equip.rules.fitness.lots import Lot, why_not_serve
from equip.rules.fitness.standing import Done, Standing
from equip.rules.fitness.stopping import enough, why_too_little
from equip.rules.wording import clock, span

LETS_GO = frozenset({"release", "wipe"})
"""Either right lets somebody release what they disinfected themselves, by its timed step."""

_BY_HAND = ("wipe", "detergent", "other")


def lot_in_hand(act: Act, context: Context) -> Lot | None:
    """The lot that the step in hand is done with."""
    tag = transitions.lot_in_hand(context)
    return lots.known(act, tag) if tag else None


def refused(act: Act, context: Context, standing: Standing, lot: Lot | None) -> Answer | None:
    """The answer that keeps the step from being told, which is kept; None if it may be told."""
    if not context.passed or not context.step:
        return None
    until = wet_until(standing, act.at, context.step)
    # What is told once the time is over happened: it is written down and cuts the step short.
    if until is not None and act.now < until:
        more = span(left_s(until, act.at))
        says = f"It has to stay wet until {clock(until, act.house.zone)}."
        reasons = [Told(code="still-wet", says=says)]
        word, way = f"Wait {more} more", f"Then say “{context.step}” and scan it again."
    else:
        reasons = why_not_with(act, context, standing, lot)
        word, way = "No", "Scan another packet, then this again; or “start over”."
    if not reasons:
        return None
    act.tell(
        facts.StepRefused,
        item=standing.item,
        step=context.step,
        reasons=tuple(reasons),
        lots=(lot.tag,) if lot else (),
    )
    return no(act.label(standing), reasons, item=standing.item, word=word, next=way)


def why_not_with(act: Act, context: Context, standing: Standing, lot: Lot | None) -> list[Told]:
    """Every reason why the step must not be done with *lot*, or without one."""
    if waterline.disinfects(act, standing, context.step):
        return waterline.why_not_with(act, lot)
    if lot is not None and lot.sort == waterline.SORT:
        return [_not_for_this_step(lot)]
    if lot is not None:
        return why_not_by_hand(act, context, lot)
    if not _lets_go(act, context, standing) or not act.house.rules(act.at).flag("wipe.lot-needed"):
        return []
    says = "No lot was scanned: nobody knows what the step stops, nor how long it has to stay wet."
    return [Told(code="lot-needed", says=says)]


def why_not_by_hand(act: Act, context: Context, lot: Lot) -> list[Told]:
    """Every reason why *lot* must not serve for the step in hand."""
    reasons = why_not_serve(lot, act.house.today(act.at))
    if lot.sort in _BY_HAND and (context.step != "disinfect" or lot.sort == "wipe"):
        return reasons
    if lot.sort == waterline.SORT and context.step == "disinfect":
        return reasons
    return [*reasons, _not_for_this_step(lot)]


def _not_for_this_step(lot: Lot) -> Told:
    says = f"Lot {lot.number} of {lot.name} is {lots.SORTS[lot.sort]}: it is not for this step."
    return Told(code="lot-unsuited", says=says)


def stepped(
    act: Act, context: Context, standing: Standing, lot: Lot | None, who: Doer
) -> facts.Stepped:
    """Tell the step, with what it was done with. A lot is opened by its first use."""
    assert context.step  # noqa: S101 — only called in this mode
    if lot is not None and lot.opened is None:
        act.tell(facts.LotOpened, lot=lot.tag)
    disinfects = context.step == "disinfect" and context.passed
    timed = lot is not None and disinfects
    agent = lot.stated.agent if lot and timed and lot.stated.contact_s else ""
    stops, by = stopped_by(act.house.rules(act.at), agent)
    may = _why_not_let_go(act, context) is None
    through = lot if lot and waterline.disinfects(act, standing, context.step) else None
    return act.tell(
        facts.Stepped,
        item=standing.item,
        step=context.step,
        passed=context.passed,
        covers=standing.members if act.kind(standing).sort == "set" else (),
        with_what=waterline.told_with(through) if through else "",
        lots=(lot.tag,) if lot else (),
        contact_s=_contact_s(act, lot, through) if lot and timed else 0,
        unreleased=timed and not may and _lets_go(act, context, standing),
        lapses=who.lapses,
        supervisor=who.supervisor,
        agent=agent,
        stops=stops if disinfects else None,
        rules=rules_used(by),
    )


def _why_not_let_go(act: Act, context: Context) -> str | None:
    """Why whoever acts may not let go what they disinfected by hand; None if they may."""
    if LETS_GO.isdisjoint(act.house.rights(act.by)):
        who = act.house.person_name(act.by)
        return f"{who} has no right to let go what is disinfected by hand."
    return why_not_themselves(act, context.badge, "let it go by this step")


def _contact_s(act: Act, lot: Lot, through: Lot | None) -> int:
    return waterline.contact_s(act, through) if through else lot.stated.contact_s or 0


def answered(
    act: Act, context: Context, standing: Standing, told: facts.Stepped, way: str
) -> tuple[Context, Answer] | None:
    """What is said of a step that does not count, or whose contact time runs; else None."""
    label = act.label(standing)
    if told.unreleased:
        return context, no(
            label,
            [
                Told(
                    code="no-right",
                    says=f"This step does not count. {_why_not_let_go(act, context)}",
                )
            ],
            item=standing.item,
            word="Does not count",
            next="Somebody with the right signs in with badge and PIN, and wipes it again.",
        )
    if (too_little := _too_little(act, context, standing, told)) is not None:
        return context, no(
            label,
            [Told(code="stops-too-little", says=too_little)],
            item=standing.item,
            word="Does not count",
            next="Scan a packet that is for it, then this again.",
        )
    if told.passed and (until := wet_until(standing, told.at, told.step)) is not None:
        says = f"It had to stay wet until {clock(until, act.house.zone)}: it is not disinfected."
        reasons = [Told(code="step-refused", says=says)]
        return context, no(
            label, reasons, item=standing.item, word="Too early", next="Disinfect it again."
        )
    if not told.contact_s:
        return None
    until = told.at + timedelta(seconds=told.contact_s)
    word, says = "Wet until", f"It has to stay wet for {span(told.contact_s)}."
    if waterline.disinfects(act, standing, told.step):
        word, says = "In until", f"The solution stays in it for {span(told.contact_s)}."
    return transitions.waiting(context, standing.item, until, act.id), note(
        f"{word} {clock(until, act.house.zone)}",
        label,
        item=standing.item,
        says=[says],
        next=way,
    )


def _too_little(act: Act, context: Context, standing: Standing, told: facts.Stepped) -> str | None:
    """Why the step stops less than it has to on the thing, or inside it; None if it does not."""
    if not told.passed:
        return None
    done = Done(steps=(told.step,), at=told.at, lots=told.lots, agent=told.agent, stops=told.stops)
    gates = _gates(act, context, standing)
    return next((why_too_little(gate, done) for gate in gates if not enough(gate, done)), None)


def _lets_go(act: Act, context: Context, standing: Standing) -> bool:
    """Whether the step in hand is the effective decontamination of the thing, or inside it."""
    return bool(_gates(act, context, standing))


def _gates(act: Act, context: Context, standing: Standing) -> list[RouteStep]:
    """The step in hand as the effective decontamination of the thing, and of what is inside it."""
    kinds = [act.kind(standing), *(kind for _, kind in act.members(standing))]
    gates = [gate_step(kind) for kind in kinds]
    return [gate for gate in gates if gate is not None and gate.step == context.step]
