"""What nobody may clean or pack: it goes to the bin, or into a bag as it is."""

from equip.desk.act.act import Act
from equip.desk.act.answer import Answer, no
from equip.facts import Told
from equip.rules.fitness.standing import Standing


def not_to_be_touched(act: Act, standing: Standing) -> Answer | None:
    """The answer to an item that nobody may clean or pack; None if it may be."""
    if act.kind(standing).reuse == "single-use" and standing.soiling is not None:
        reason = Told(code="single-use-again", says="It is for one use only.")
        return no(
            act.label(standing), [reason], item=standing.item, word="Stop", next="Throw it away."
        )
    bagged = [kept for kept in standing.quarantines if kept.how == "bag-it"]
    if bagged:
        reason = Told(code="quarantined", says=f"In quarantine as it is: {bagged[0].why.says}.")
        return no(
            act.label(standing),
            [reason],
            item=standing.item,
            word="Stop",
            next="Bag it, do not clean it. Tell the practice manager.",
        )
    return None
