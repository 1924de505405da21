"""Word that an act sent on its way and that has not left when the act is taken back.

What is no longer so is not sent. That an item was used although it was not fit is told all the
same, with the name of whoever took it back: an undo hides nothing from the practice manager.
"""

from equip import facts
from equip.desk.act.act import Act, alert
from equip.facts import Fact
from equip.store.post import agenda, letters

_STAYS = (facts.Hurt, facts.PieceMissing, facts.IndicatorNotTurned)


def call_off(act: Act, undone: str, told: tuple[Fact, ...]) -> None:
    """The alerts of the act *undone*, which *told* these facts: called off, or told anew."""
    if any(isinstance(fact, _STAYS) for fact in told):
        return
    unfit = any(isinstance(fact, facts.Quarantined) and _is_unfit(fact) for fact in told)
    back = f"{act.house.person_name(act.by)} took back what was told of this."
    number = 0
    while (event := agenda.letter_of(act.store, f"alert:{undone}:{number}")) is not None:
        heard = letters.call_off(act.store, event.key, act.now, f"Called off: {back}")
        if unfit or heard:
            alert(act, f"{event.payload} {back}")
        number += 1


def _is_unfit(fact: facts.Quarantined) -> bool:
    return fact.why.code == "used-unfit"
