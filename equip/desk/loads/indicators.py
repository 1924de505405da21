"""Chemical indicators and spore tests of a load: put in, read, and what the reading brings about.

What the load's log was judged to be is never changed by them; whether it may be released is.
"""

from datetime import date
from decimal import Decimal
from typing import get_args

from equip import facts
from equip.desk.act import keep_back
from equip.desk.act.act import Act, Refused, alert
from equip.desk.act.as_told import rules_used, told_of
from equip.desk.clinic import Clinic
from equip.desk.machines import lots, spores
from equip.facts import IndicatorPlace, IndicatorResult, Process, Told
from equip.rulebook import Rule, Rules
from equip.rules.fitness.lots import Lot, why_not_serve
from equip.rules.loads.load import IndicatorReading, Load
from equip.rules.machines import indicators as rules_indicators
from equip.rules.machines import spores as rules_spores
from equip.rules.machines.indicators import Indicator, Promised
from equip.rules.machines.spores import Look
from equip.rules.verdict import Reason
from equip.scan import show_tag

PLACES: tuple[IndicatorPlace, ...] = get_args(IndicatorPlace)
RESULTS: dict[IndicatorResult, str] = {
    "pass": "turned as it should",
    "fail": "did not turn",
    "unclear": "unclear",
}
_VERDICTS = {"negative": "pass", "positive": "fail", "invalid": "undecided"}
_HAS_RUN = ("ended", "judged", "released", "rejected")


def takes_any(process: Process | None) -> bool:
    """Whether indicators and spore tests mean anything in a machine of this process."""
    return process is not None and "sterilise" in process.steps


# --- chemical indicators --------------------------------------------------------------------


def read_indicator(
    act: Act,
    load: Load,
    lot_tag: str,
    where: IndicatorPlace,
    result: IndicatorResult,
    *,
    pack: str = "",
    again: bool = False,
) -> tuple[Told, ...]:
    """An indicator as somebody sees it after the cycle; what that adds by its stated values."""
    if load.state not in _HAS_RUN:
        raise Refused("An indicator is read after the cycle: end the load first.")
    lot = _lot(act, lot_tag, "chemical-indicator", "a chemical indicator")
    if pack and pack not in load.covers:
        raise Refused(f"{show_tag(pack)} is not in load {show_tag(load.load)}.")
    if again and not any(_same(reading, lot_tag, where, pack) for reading in load.indicators):
        raise Refused("There is no unclear indicator of that lot in that place to look at again.")
    rules = act.house.rules(load.ran or act.at)
    reasons, used = _adds(rules, lot, load.programme, result)
    reasons += _of_the_day(lot, act.house.today(load.ran or act.at), result)
    told = told_of(reasons)
    act.tell(
        facts.IndicatorRead,
        load=load.load,
        lot=lot_tag,
        where=where,
        result=result,
        pack=pack,
        again=again,
        reasons=told,
        rules=rules_used(used),
    )
    if load.state == "released" and any(one.code == "indicator-failed" for one in told):
        _failed_late(act, load)
    return told


def _same(reading: IndicatorReading, lot: str, where: str, pack: str) -> bool:
    place = (reading.lot, reading.where, reading.pack)
    return reading.result == "unclear" and place == (lot, where, pack)


def _adds(
    rules: Rules, lot: Lot, programme: str, result: IndicatorResult
) -> tuple[list[Reason], list[Rule]]:
    """What the result says of this programme, and the rules that it was held against."""
    if lot.stated.type is None:
        says = "Its packet's type was not told: correct its lot; the result was not counted."
        return [Reason("result-not-counted", says, spoils="undecided")], []
    if programme not in rules.steam_programmes():
        says = (
            f"The rule book promises no heat and time for {programme}: whether this indicator "
            "suits it is for its maker's instructions. Its result counts as it was read."
        )
        remark = Reason("no-programme-to-suit", says, spoils="pass")
        return [remark, *rules_indicators.of_the_result(True, result)], []
    used = [rules[f"{programme}.low"], rules[f"{programme}.hold"]]
    low, hold = (rules.decimal(rule.id) for rule in used)
    stated = Indicator(lot.stated.type, lot.stated.celsius, lot.stated.seconds)
    suited, reasons = rules_indicators.suits(stated, Promised(programme, low, hold))
    reasons = [*reasons, *rules_indicators.of_the_result(suited, result)]
    if lot.stated.type == 1 and result == "fail":
        says = "A process indicator that did not turn: find out whether this went through at all."
        reasons.append(Reason("went-through", says, spoils="undecided"))
    return reasons, used


def _of_the_day(lot: Lot, ran: date, result: IndicatorResult) -> list[Reason]:
    """A lot past its day: that it turned is not counted; that it did not turn still is."""
    why_not = [told for told in why_not_serve(lot, ran) if told.code != "lot-finished"]
    reasons = [Reason(told.code, told.says, spoils="undecided") for told in why_not]
    if reasons and result == "pass":
        says = "Its result was not counted."
        reasons.append(Reason("result-not-counted", says, spoils="undecided"))
    return reasons


def _failed_late(act: Act, load: Load) -> None:
    """It was let go before: whatever of it was not used yet is kept back, and word goes out."""
    why = Told(code="indicator-failed", says=f"an indicator of its load {load.load} did not turn")
    keep_back.hold(act, [load], why)
    alert(act, f"An indicator of load {show_tag(load.load)}, released before, did not turn.")


def missing(clinic: Clinic, load: Load) -> list[str]:
    """What the rule book asks for that nobody has read, in sentences: each stops the release."""
    if load.state not in ("ended", "judged") or load.ran is None:
        return []
    rules = clinic.house.rules(load.ran)
    says = []
    counted = [one for one in load.indicators if "result-not-counted" not in one.codes]
    if rules.flag("indicator.each-load") and not counted and not load.typed.get("indicator"):
        says.append("The rule book asks for an indicator in each load: none that counts was read.")
    packs = {put.item for put in load.inside if put.wrapped}
    bare = packs.difference(one.pack for one in counted)
    if rules.flag("indicator.each-pack") and bare:
        packs_say = "1 pack" if len(bare) == 1 else f"{len(bare)} packs"
        says.append(
            f"The rule book asks for an indicator in each pack: that of {packs_say} was not read "
            "yet. It is one that shows from outside, or that rule is not for you."
        )
    return says


# --- spore tests ----------------------------------------------------------------------------


def put_spore(act: Act, load: Load, lot_tag: str, *, with_control: bool) -> None:
    """A spore test goes in, or is written down as having gone in."""
    if load.state in ("released", "rejected"):
        raise Refused("This load is decided: a spore test goes in before its cycle.")
    lot = _lot(act, lot_tag, "spore-test", "a spore test")
    if any(one.lot == lot_tag for one in load.spores):
        raise Refused(f"A spore test of lot {lot.number} is in load {show_tag(load.load)} already.")
    why_not = why_not_serve(lot, act.house.today(act.at))
    if why_not and load.state == "filling":
        raise Refused(f"{why_not[0].says} Take another.")
    act.tell(
        facts.SporeTestPut,
        load=load.load,
        machine=load.machine,
        lot=lot_tag,
        with_control=with_control,
    )


def read_spore(
    act: Act,
    load: Load,
    lot_tag: str,
    *,
    grew: bool,
    control_grew: bool | None = None,
    incubated_h: Decimal | None = None,
    incubator_c: Decimal | None = None,
) -> facts.SporeResult:
    """What came out of the incubator: written down for the load, and as the machine's own test.

    Once positive it stays so; a negative or an invalid one may be read again.
    """
    inside = next((one for one in load.spores if one.lot == lot_tag), None)
    if inside is None:
        raise Refused("No spore test of that lot is in this load: put it in first.")
    if load.ran is None or load.state == "running":
        raise Refused("This load has not run: end it first.")
    if inside.result == "positive":
        raise Refused("Spores grew in it; that stays in the book. Repeat the test in a new cycle.")
    if inside.with_control and control_grew is None:
        raise Refused("Say whether its control grew.")
    _expect_possible(incubated_h, incubator_c)
    lot = _lot(act, lot_tag, "spore-test", "a spore test")
    rules = act.house.rules(load.ran)
    look = Look(grew, control_grew if inside.with_control else None, incubated_h)
    result, reasons = rules_spores.result_of(
        look, lot, act.house.today(load.ran), control_needed=rules.flag("spore.control")
    )
    told, used = told_of(reasons), rules_used([rules["spore.control"]])
    act.tell(
        facts.SporeTestRead,
        load=load.load,
        machine=load.machine,
        lot=lot_tag,
        result=result,
        control_grew=look.control_grew,
        incubated_h=incubated_h,
        incubator_c=incubator_c,
        reasons=told,
        rules=used,
    )
    act.tell(
        facts.MachineTested,
        at=load.ran,
        machine=load.machine,
        test="spore",
        verdict=_VERDICTS[result],
        reasons=told,
        rules=used,
        load=load.load,
    )
    if result == "positive":
        effect = act.house.rules(act.at).text("test.spore.failed")
        spores.failed(act, load.machine, load.ran, effect)
    return result


def _expect_possible(incubated_h: Decimal | None, incubator_c: Decimal | None) -> None:
    if incubated_h is not None and not 0 < incubated_h <= 1_000:
        raise Refused(f"{incubated_h} h in the incubator were read: give hours up to 1,000.")
    if incubator_c is not None and not 20 <= incubator_c <= 80:
        raise Refused(f"An incubator at {incubator_c} °C was read: give 20 to 80 °C.")


def _lot(act: Act, tag: str, sort: str, called: str) -> Lot:
    lot = lots.known(act, tag)
    if lot.sort != sort:
        raise Refused(f"{show_tag(tag)}, {lot.name}, is not {called}.")
    return lot
