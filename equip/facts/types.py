"""What an item is: its route, its limits, what a machine does to a load."""

from decimal import Decimal
from typing import Literal

from equip.facts.base import Contact, Hazard, Step, Value

SessionCheck = Literal[
    "waterline",
    "water-temperature",
    "pressure",
    "canister",
    "liner",
    "tubing",
    "filter",
    "vacuum",
    "picture",
    "edge",
    "light",
]


class RouteStep(Value, frozen=True, kw_only=True):
    """One step of the way back to fit-for-use; a gate if it stops a hazard.

    A step that is not *required* is part of the route but proves nothing by its absence.
    """

    step: Step
    stops: tuple[Hazard, ...] = ()
    required: bool = True


class Programme(Value, frozen=True, kw_only=True):
    """A programme as one machine offers it: what it is judged by, and what it suits."""

    judged_by: str
    name: str = ""
    wrapped: bool = False
    hollow: bool = False


class Limits(Value, frozen=True, kw_only=True):
    """What one machine's maker, or its validation, allows. What is None is not known, nor judged.

    Pressures are absolute, in kPa; times in seconds. Steam: *pulses* is how often the air removal
    must fall to *vacuum_kpa*, rising to *steam_kpa* in between; the drying must stay at
    *drying_kpa* or lower for *drying_s*. Washers: the wash stands between *wash_low_c* and
    *wash_high_c*, the flush not above *flush_high_c*; with *dosing* it takes detergent. Baths:
    they run for *run_s* at least, not hotter than *bath_high_c*.
    """

    pulses: int | None = None
    vacuum_kpa: Decimal | None = None
    steam_kpa: Decimal | None = None
    drying_kpa: Decimal | None = None
    drying_s: int | None = None
    wash_low_c: Decimal | None = None
    wash_high_c: Decimal | None = None
    flush_high_c: Decimal | None = None
    dosing: bool = False
    run_s: int | None = None
    bath_high_c: Decimal | None = None


class Process(Value, frozen=True, kw_only=True):
    """What a machine does to a load. *steps* are the steps of the route a good cycle is.

    *minutes* pass from closing the door until the load may go on, and *holds* things go in at
    once; 0 is not known.
    """

    steps: tuple[Step, ...]
    heat: Literal["steam", "hot-water", "none"] = "none"
    vacuum: bool = False
    litres: int = 0
    programmes: tuple[Programme, ...] = ()
    limits: Limits | None = None
    minutes: int = 0
    holds: int = 0


class AskedCheck(Value, frozen=True, kw_only=True):
    """A check that things of a type are asked for ahead of each session.

    *low* and *high* are its maker's limits, in *unit*, of what is measured; without them the
    rule book's hold, if it has any.
    """

    check: SessionCheck
    low: Decimal | None = None
    high: Decimal | None = None
    unit: str = ""


class ItemType(Value, frozen=True, kw_only=True):
    """What an item is: its route, its limits, whether it touches the patient.

    *optic* tells scopes apart, whose wiped state lapses; *instructions* names the maker's
    document; *card* is the act card that counts one untagged instrument of this type; *checks*
    are asked for ahead of each session, in this order; *served_by* is the type of the machine
    it is used with: a suction tip's pump, a handpiece's irrigator. *holds* says how long what
    its gate did holds: until it is used or, of a water path that patients share, for that day.
    """

    code: str
    name: str
    sort: Literal["instrument", "machine", "set"] = "instrument"
    contact: Contact = "touches"
    tagged: bool = True
    reuse: Literal["reusable", "single-use", "single-patient"] = "reusable"
    hollow: bool = False
    heat_proof: bool = True
    optic: Literal["", "rigid", "flexible"] = ""
    route: tuple[RouteStep, ...] = ()
    use_limit: int | None = None
    cycle_limit: int | None = None
    process: Process | None = None
    instructions: str = ""
    card: str = ""
    checks: tuple[AskedCheck, ...] = ()
    served_by: str = ""
    holds: Literal["use", "day"] = "use"


class Loose(Value, frozen=True, kw_only=True):
    """So many untagged instruments of one type, known only by the pack they are in."""

    type: str
    count: int


class Procedure(Value, frozen=True, kw_only=True):
    """A kind of procedure as a list names it: how long it takes, how many of which type it needs.

    One that is not *offered* any more is on no list.
    """

    code: str
    name: str
    minutes: int
    needs: tuple[Loose, ...]
    offered: bool = True
