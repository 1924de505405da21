"""The reasons of a judged load as page and paper give them: numbered, timed, with their rules."""

from dataclasses import dataclass

from equip.facts import RuleUsed
from equip.rules.cycles.behind import behind, rules_behind
from equip.rules.loads.load import Load
from equip.rules.wording import exact_span

CAUTION = (
    "A passed judgement supports the release by a competent person. It does not replace "
    "validation, periodic testing or licensed engineers. The maker’s instructions come first; "
    "local policy and law decide."
)


@dataclass(frozen=True, slots=True)
class Explained:
    """One reason, by the number it has in the picture; *at* is how far into the log it was."""

    number: int
    code: str
    says: str
    at: str
    rules: tuple[RuleUsed, ...]
    remark: bool


def explained(load: Load) -> list[Explained]:
    """Every reason of the load's judgement, in its order."""
    used = {rule.id: rule for rule in load.rules}
    return [
        Explained(
            number=number,
            code=reason.code,
            says=reason.says,
            at="" if reason.at_s is None else exact_span(float(reason.at_s)),
            rules=tuple(used[id_] for id_ in rules_behind(reason.code, load.programme, used)),
            remark=behind(reason.code).remark,
        )
        for number, reason in enumerate(load.reasons, start=1)
    ]
