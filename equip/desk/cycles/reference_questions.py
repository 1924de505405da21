"""A load's cycle beside the machine's reference cycle and its own past: questions before release.

Which cycle is the reference is chosen by a manager: whoever is asked these questions every day
does not choose the yardstick. Two logs are read, the reference's and the load's own; the past is
taken from the figures that judgements keep. Nothing here changes a verdict.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from equip import facts
from equip.desk.act.act import Act, Refused
from equip.desk.act.as_told import told_of
from equip.desk.clinic import Clinic
from equip.desk.cycles import logs
from equip.facts import Told
from equip.logs.plain import UnreadableLog
from equip.rulebook import MissingRule, Rules
from equip.rulebook.cycles import profile, size_rules, tolerances
from equip.rules.cycles import load_size, reference_cycle
from equip.rules.cycles.boundaries import as_boundaries
from equip.rules.cycles.load_size import SizedCycle, SizeLine
from equip.rules.cycles.measured_stages import Profile
from equip.rules.cycles.reference_cycle import ComparedRow
from equip.rules.loads.load import Load
from equip.rules.verdict import Reason
from equip.scan import show_tag
from equip.store.kept import files
from equip.store.readings import item_rows, load_rows

# What a line through the machine's own cycles is drawn for, and the verb of its question.
_STAGES = {"heat_up_s": "heated", "drying_s": "dried"}


@dataclass(frozen=True, slots=True)
class Size:
    """What one stage says of a load's size: the line it rests on, and what this load took."""

    stage: str
    line: SizeLine
    seconds: float
    things: int

    @property
    def says(self) -> str:
        return load_size.usual(_STAGES[self.stage], self.line, self.things, self.seconds)

    @property
    def asks(self) -> Reason | None:
        return load_size.asks(_STAGES[self.stage], self.line, self.things, self.seconds)


@dataclass(frozen=True, slots=True)
class Beside:
    """A load beside the reference, *rows* empty where *says* tells why there is no comparison.

    *reference* is the load whose cycle it is, "" if none is chosen; *things* what went into it.
    """

    reference: str
    things: int
    rows: tuple[ComparedRow, ...]
    says: str
    sizes: tuple[Size, ...]
    questions: tuple[Told, ...]


def beside(clinic: Clinic, load: Load) -> Beside:
    """The load beside the reference and the machine's own cycles, by the rules of its day."""
    if load.verdict is None or not load.log:
        return Beside("", 0, (), "", (), ())
    rules = clinic.house.rules(load.ended or clinic.clock())
    sizes = _sizes(clinic, load, rules)
    reference = reference_of(clinic, load)
    rows: list[ComparedRow] = []
    found: list[Reason] = []
    says = ""
    if reference is not None and reference.load != load.load:
        try:
            rows, found = _compared(clinic, load, reference, sizes, rules)
        except (MissingRule, UnreadableLog) as problem:
            says = str(problem)
    found += [one.asks for one in sizes if one.asks is not None]
    return Beside(
        reference.load if reference else "",
        len(reference.inside) if reference else 0,
        tuple(rows),
        says,
        sizes,
        told_of(found),
    )


def open_questions(clinic: Clinic, load: Load) -> tuple[Told, ...]:
    """What is asked before this load may be released; nothing of a load that may not be anyway."""
    if load.state != "judged" or load.verdict != "pass":
        return ()
    return beside(clinic, load).questions


def answered(act: Act, load: Load, answer: str, seen: Sequence[str] | None) -> tuple[Told, ...]:
    """The questions that *answer* answers; Refused where there are some and it is empty.

    *seen* are the codes of those that the person had before them, None if they saw none.
    """
    asked = open_questions(act.clinic, load)
    if not asked:
        return ()
    if not answer or seen is None:
        many = "1 question is" if len(asked) == 1 else f"{len(asked)} questions are"
        raise Refused(
            f"{many} asked about the cycle of load {show_tag(load.load)}: answer on its page "
            "under Loads and release it there."
        )
    if sorted(seen) != sorted(one.code for one in asked):
        raise Refused("What is asked about this load has changed: read it again, then answer.")
    return asked


def reference_of(clinic: Clinic, load: Load) -> Load | None:
    """The load whose cycle is the reference of this load's machine and programme."""
    machine = item_rows.standing_of(clinic.store, load.machine)
    tag = machine.references.get(load.programme) if machine is not None else None
    return load_rows.load_of(clinic.store, tag) if tag else None


def choose(act: Act, load: Load, reason: str) -> None:
    """Keep this load's cycle as the reference of its machine for its programme."""
    person = act.house.staff.get(act.by)
    if person is None or person.role != "manager":
        raise Refused("Which cycle is the reference is for the practice manager to choose.")
    if load.verdict != "pass" or not load.log:
        raise Refused(
            f"Load {show_tag(load.load)} cannot be the reference: only a cycle that passed by "
            "its log can."
        )
    if load.state == "rejected":
        raise Refused(f"Load {show_tag(load.load)} was rejected: choose another.")
    if not reason.strip():
        raise Refused("Say why this cycle: its validation, its report. It is read years later.")
    act.tell(
        facts.ReferenceChosen,
        machine=load.machine,
        programme=load.programme,
        load=load.load,
        reason=reason.strip(),
    )


# --- the two comparisons ----------------------------------------------------------------------


def _compared(
    clinic: Clinic, load: Load, reference: Load, sizes: Sequence[Size], rules: Rules
) -> tuple[list[ComparedRow], list[Reason]]:
    by = tolerances(rules)
    theirs = _profile(clinic, reference, rules)
    ours = _profile(clinic, load, rules)
    grown = {
        one.stage: one.line.expected_s(len(load.inside))
        - one.line.expected_s(len(reference.inside))
        for one in sizes
    }
    rows = reference_cycle.compare(theirs, ours, by, grown)
    curve = reference_cycle.heating_asks(
        reference_cycle.furthest(theirs, ours, by.curve_window_s), by.curve_k
    )
    asked = [row.question for row in rows if row.question is not None]
    return rows, asked + ([curve] if curve is not None else [])


def _profile(clinic: Clinic, load: Load, rules: Rules) -> Profile:
    data = files.fetch(clinic.store, load.log)
    if data is None:
        raise UnreadableLog(
            f"The log of load {show_tag(load.load)} is missing or no longer as it was handed in: "
            "fetch it from a backup, or choose another reference."
        )
    trace = logs.read(data, load.layout).trace
    return profile(rules, load.programme, trace, as_boundaries(load.boundaries))


def _sizes(clinic: Clinic, load: Load, rules: Rules) -> tuple[Size, ...]:
    """The stages that tell anything of this load's size."""
    if not any(stage in load.figures for stage in _STAGES):
        return ()
    past = load_rows.loads_like(clinic.store, load, rules.whole("load-size.most-cycles"))
    found = []
    for stage in _STAGES:
        cycles = [
            SizedCycle(len(one.inside), float(one.figures[stage]))
            for one in past
            if stage in one.figures
        ]
        size_line = load_size.line(cycles, size_rules(rules))
        if size_line is not None and stage in load.figures:
            found.append(Size(stage, size_line, float(load.figures[stage]), len(load.inside)))
    return tuple(found)
