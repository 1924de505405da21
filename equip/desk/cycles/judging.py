"""A load's cycle judged by the rules in force when it ran: from its log, or from typed values."""

from collections.abc import Mapping, Sequence
from typing import Any

from equip.desk.act.act import Act, Refused
from equip.desk.act.as_told import as_text, rules_used, told_of
from equip.desk.register import machine_limits
from equip.facts import Process
from equip.logs.plain import Trace
from equip.rulebook import MissingRule, Rules
from equip.rulebook.cycles import judge, judge_version
from equip.rulebook.stopping import stopped_by_cycle
from equip.rulebook.typed import typed_limits, typed_policy
from equip.rules.cycles.boundaries import as_boundaries
from equip.rules.cycles.typed.fields import FIELDS, BadValue, accepted, machine_of
from equip.rules.cycles.typed.judge import Backing, judge_typed
from equip.rules.loads.load import Load, ReadAgain
from equip.rules.verdict import Judgement

_TYPED_VERSION = "typed-2"


def judge_log(act: Act, load: Load, process: Process, trace: Trace) -> dict[str, Any]:
    """The fields of a judgement from the log that was read; Refused if no rule can judge it."""
    rules = act.house.rules(load.ended or act.at)
    _expect_family(rules, load, process)
    litres = process.litres or None
    try:
        judged = judge_trace(rules, load.programme, trace, process, load)
        used = [
            *rules.behind(load.programme, chamber_litres=litres),
            *machine_limits.behind(process, rules),
        ]
    except MissingRule as problem:
        raise Refused(str(problem)) from None
    return {
        "verdict": judged.verdict,
        "reasons": told_of(judged.reasons),
        "figures": {
            name: as_text(value) for name, value in judged.figures.items() if value is not None
        },
        "rules": rules_used(used) + machine_limits.limits_used(process),
        "book": act.house.book.digest,
        "judge": judge_version(rules, load.programme),
        "stops": stopped_by_cycle(rules, process, load.programme),
    }


def _expect_family(rules: Rules, load: Load, process: Process) -> None:
    """A steriliser is judged as steam and a washer by its A0: an A0 sterilises nothing."""
    if process.heat == "none":
        raise Refused("This machine has no heat to judge by a log: type what it shows.")
    known = rules.steam_programmes() if process.heat == "steam" else rules.thermal_programmes()
    if load.programme not in known:
        raise Refused(
            f"“{load.programme}” is no programme by which a log of this machine can be judged; "
            f"there are {', '.join(known)}. Mend its type in Setup."
        )


def judge_trace(
    rules: Rules,
    programme: str,
    trace: Trace,
    process: Process,
    load: Load,
    *,
    uncertainty_k: float = 0.0,
) -> Judgement:
    """The judgement of samples by *programme* of *rules*; MissingRule if the book has none.

    The machine's own limits and whatever was corrected of the load's stages count too.
    """
    return judge(
        rules,
        programme,
        trace,
        uncertainty_k=uncertainty_k or None,
        chamber_litres=process.litres or None,
        stages=machine_limits.stages_of(process, rules),
        corrected=as_boundaries(load.boundaries),
    )


def judge_values(
    act: Act,
    load: Load,
    process: Process,
    typed: Mapping[str, str],
    *,
    photo: bool,
    again: Sequence[ReadAgain] = (),
) -> dict[str, Any]:
    """The fields of a judgement from values read off the machine; it says what they cannot show.

    *again* are the readings by a second person so far; only the last one can confirm.
    """
    rules = act.house.rules(load.ended or act.at)
    try:
        values = accepted(typed, FIELDS[machine_of(process)])
        limits, used = typed_limits(rules, process, load.programme)
    except (BadValue, MissingRule) as problem:
        raise Refused(str(problem)) from None
    policy, asked = typed_policy(rules, process)
    backing = Backing(
        photo=photo,
        second=again[-1].typed if again and not again[-1].differs else None,
        differs=tuple(dict.fromkeys(name for one in again for name in one.differs)),
        tries_left=max(rules.whole("evidence.second-reading-tries") - len(again), 0),
    )
    verdict, reasons = judge_typed(values, limits, policy, backing)
    return {
        "verdict": verdict,
        "reasons": told_of(reasons),
        "figures": values,
        "rules": rules_used([*asked, *used])
        + machine_limits.limits_used(process, machine_limits.READ_OFF),
        "book": act.house.book.digest,
        "judge": _TYPED_VERSION,
        "stops": stopped_by_cycle(rules, process, load.programme),
    }
