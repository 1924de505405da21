"""Typed values after they were judged: read again by a second person, blind; a photo added.

A name chosen from a list is no second reading. Whoever reads again is signed in, is somebody
else, and types what they read without being shown what the first person typed. The load is then
judged again; every reading stays in the book, also one that differed.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from equip import facts
from equip.desk.act.act import Act, Refused
from equip.desk.clinic import Clinic
from equip.desk.cycles.judging import judge_values
from equip.desk.loads.loads import process_of
from equip.facts import Process
from equip.photos import Photo, UnreadablePhoto, checked
from equip.rules.cycles.typed.fields import FIELDS, BadValue, Field, accepted, differing, machine_of
from equip.rules.loads.load import Load, ReadAgain
from equip.store.kept import files

# Of a load that waits for a second reader these say nothing of what was read first.
_SAYS_NO_VALUE = frozenset({"one-reader", "readers-differ", "typed-shows-less", "no-photo"})


@dataclass(frozen=True, slots=True)
class SecondReading:
    """What is asked of a second reader, and whether this person may be one."""

    fields: tuple[Field, ...]
    tries_left: int
    may: bool

    def shows(self, code: str) -> bool:
        """Whether a reason may be shown now: whoever is to read does not see what was read."""
        return not self.may or code in _SAYS_NO_VALUE


def asked(clinic: Clinic, load: Load, process: Process, person: str) -> SecondReading | None:
    """The second reading that *load* waits for, as *person* sees it; None if it waits for none."""
    if not load.wants_reader:
        return None
    fields = tuple(field for field in FIELDS[machine_of(process)] if field.again)
    left = _tries(clinic, load) - len(load.again)
    member = clinic.house.staff.get(person)
    writes = member is not None and member.active and member.role in ("nurse", "manager")
    return SecondReading(fields, left, writes and person not in load.readers and left > 0)


def read_again(act: Act, load: Load, typed: Mapping[str, str]) -> bool:
    """What a second person read; whether it is the same. The load is judged again either way."""
    process = process_of(act, act.standing(load.machine))
    reading = asked(act.clinic, load, process, act.by)
    if reading is None:
        raise Refused("This load does not wait for a second reader.")
    if not reading.may:
        raise Refused(
            "The second reader must be another person than the first, who works here: "
            "they sign in themselves and read the display or strip."
        )
    values, differs = compared(act, load, reading.fields, typed)
    read = ReadAgain(by=act.by, at=act.at, typed=values, differs=differs)
    readers = load.readers if differs else (*load.readers, act.by)
    _judge_again(act, load, process, (*load.again, read), load.photo, readers)
    return not differs


def compared(
    act: Act, load: Load, fields: tuple[Field, ...], typed: Mapping[str, str]
) -> tuple[dict[str, str], tuple[str, ...]]:
    """What somebody else read of *fields*, and which of them differ from what stands there.

    Both are told, whatever comes of it.
    """
    try:
        values = accepted(typed, fields)
    except BadValue as problem:
        raise Refused(str(problem)) from None
    differs = tuple(field.name for field in differing(fields, load.figures, values))
    act.tell(
        facts.EvidenceConfirmed,
        load=load.load,
        machine=load.machine,
        typed=values,
        differs=differs,
    )
    return values, differs


def add_photo(act: Act, load: Load, photo: Photo) -> None:
    """A photo that was missing when the values were typed; the load is judged again with it."""
    if load.state != "judged" or not load.readers:
        raise Refused("A photo goes with typed values of a load that is not decided yet.")
    if load.photo:
        raise Refused("This load has its photo already.")
    process = process_of(act, act.standing(load.machine))
    kept = files.keep(act.store, photo.data, photo.name)
    _judge_again(act, load, process, load.again, kept, load.readers)


def looked_at(clinic: Clinic, data: bytes, name: str) -> Photo:
    """A photo that was handed in, decoded once. Before an act begins: it takes its time."""
    rules = clinic.house.rules(clinic.clock())
    try:
        return checked(
            data,
            most_bytes=rules.whole("photo.most-bytes"),
            most_pixels=rules.whole("photo.most-pixels"),
            name=name,
        )
    except UnreadablePhoto as problem:
        raise Refused(str(problem)) from None


def _judge_again(
    act: Act,
    load: Load,
    process: Process,
    again: tuple[ReadAgain, ...],
    photo: str,
    readers: tuple[str, ...],
) -> None:
    judged = judge_values(act, load, process, load.figures, photo=bool(photo), again=again)
    act.tell(
        facts.LoadJudged,
        load=load.load,
        machine=load.machine,
        programme=load.programme,
        covers=load.covers,
        photo=photo,
        readers=readers,
        **judged,
    )


def _tries(clinic: Clinic, load: Load) -> int:
    rules = clinic.house.rules(load.ended or clinic.clock())
    return rules.whole("evidence.second-reading-tries")
