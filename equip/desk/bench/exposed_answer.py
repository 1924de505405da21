"""A scan that makes an exposure says so at once, in the answer to that very scan."""

import msgspec

from equip import facts
from equip.desk.act.act import Act
from equip.desk.act.answer import Answer
from equip.facts import Told
from equip.rules.lookback.sweep import Certainty
from equip.rules.wording import several
from equip.scan import show_tag
from equip.store.readings import exposure_rows
from equip.store.readings.exposure_rows import ExposedRow

_HOW_SURE = {
    Certainty.certain: "Nothing effective is recorded in between.",
    Certainty.no_proof: "What lies in between is not proven: a step, a verdict or a release lacks.",
    Certainty.possible: "Untagged instruments of several patients were mixed in between.",
}
_COUNTS = "It counts as exposed now."
_TELL = "Tell the practice manager: it counts as exposed now."


def with_exposure(act: Act, answer: Answer) -> Answer:
    """*answer* as it is, unless the act, which is in the book already, exposed somebody."""
    if act.more_exposed <= 0:
        return answer
    found = _of(act)
    if not found:
        return _elsewhere(act, answer)
    reasons = tuple(dict.fromkeys(_told(act, found))) + answer.reasons
    if answer.tone == "no":
        more = _COUNTS if "practice manager" in answer.next else _TELL
        way = f"{answer.next} {more}".strip()
        return msgspec.structs.replace(answer, reasons=reasons, next=way)
    return Answer(
        tone="no",
        word="Exposed",
        what=answer.what,
        item=answer.item,
        patient=answer.patient,
        reasons=reasons,
        next=_TELL,
        options=answer.options,
    )


def _of(act: Act) -> list[ExposedRow]:
    """The exposures that are uses of this act."""
    used = [entry.fact for entry in act.entries if isinstance(entry.fact, facts.Used)]
    rows = [
        exposure_rows.exposure_of(act.store, item, use.use)
        for use in used
        for item in (use.item, *use.covers)
    ]
    return [row for row in rows if row is not None]


def _told(act: Act, found: list[ExposedRow]) -> list[Told]:
    """One reason for each degree of certainty, the surest first."""
    told = []
    for certainty in sorted({row.certainty for row in found}, reverse=True):
        these = [row for row in found if row.certainty == certainty]
        named = several(list(dict.fromkeys(show_tag(row.item) for row in these)))
        others = max(row.sources for row in these)
        whom = "an earlier patient" if others == 1 else f"{others} earlier uses"
        says = f"This patient may have been exposed to {whom} by {named}. {_HOW_SURE[certainty]}"
        told.append(Told(code="exposed", says=says))
    return told


def _elsewhere(act: Act, answer: Answer) -> Answer:
    """What was told now makes exposures of uses that are in the book already."""
    count = act.more_exposed
    uses = "1 earlier use counts" if count == 1 else f"{count} earlier uses count"
    told = Told(code="exposed-earlier", says=f"By this, {uses} as exposed: see History.")
    tone = "no" if answer.tone == "no" else "warn"
    return msgspec.structs.replace(answer, tone=tone, reasons=(told, *answer.reasons))
