"""The life of one thing or load as a list of facts, for tests of the folds and what asks them."""

from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from equip import facts
from equip.facts import Fact, ItemType, RouteStep, Told
from equip.rules.fitness.gates import Asking, Member
from equip.rules.fitness.shelf import ShelfLimits
from equip.rules.fitness.standing import Standing, fold
from equip.rules.fitness.why_not import Why, why_not_use
from tests.support.stopped import NOON

HOOK, SECOND, SCOPE = "E000000019", "E000000027", "E000000035"
PACK_TAG, SET_TAG, MACHINE = "P000000011", "S00000001J", "D000000013"
LOAD, NEXT_LOAD = "L00000001E", "L00000002C"
NURSE, OTHER = "B00000001S", "B00000005K"
ROOM, SHELF = "R00000001D", "R00000002B"
ONE, TWO = "p-one", "p-two"

LONDON = ZoneInfo("Europe/London")
LOT = "T00000001P"
SPORICIDAL: dict[str, Any] = {
    "lots": (LOT,),
    "agent": "chlorine-dioxide",
    "stops": ("bacteria-viruses", "spores"),
}
"""What a disinfection by hand is told with, by a wipe that stops spores too."""
GATE = RouteStep(step="sterilise", stops=("bacteria-viruses", "spores"))
HOOK_TYPE = ItemType(
    code="hook",
    name="Hook",
    route=(
        RouteStep(step="wipe", required=False),
        RouteStep(step="clean"),
        RouteStep(step="inspect"),
        GATE,
    ),
)
SCOPE_TYPE = ItemType(
    code="scope-wiped",
    name="Rigid scope",
    optic="rigid",
    heat_proof=False,
    route=(
        RouteStep(step="clean"),
        RouteStep(step="disinfect", stops=("bacteria-viruses", "spores")),
    ),
)
PACK_TYPE = ItemType(code="pack", name="Pack", route=(GATE,))
SET_TYPE = ItemType(code="set", name="Set", sort="set")
SINGLE = ItemType(code="tip-once", name="Single-use tip", reuse="single-use")

LIMITS = ShelfLimits(
    wrapped_days=365,
    unwrapped_clinical_days=0,
    unwrapped_clean_days=7,
    flexible_hours=3,
    rigid_hours=3,
)


class Life:
    """Facts about one thing, a minute apart unless told otherwise."""

    def __init__(self, item: str = HOOK, at: datetime = NOON) -> None:
        self.item = item
        self.at = at
        self.told: list[Fact] = []

    def then(self, kind: type[Fact], *, minutes: float = 1, **fields: Any) -> "Life":
        self.at += timedelta(minutes=minutes)
        fields.setdefault("by", NURSE)
        fields.setdefault("act", f"act-{len(self.told)}")
        self.told.append(kind(at=self.at, **fields))
        return self

    @property
    def stands(self) -> Standing:
        return fold(self.item, self.told)

    @property
    def last_act(self) -> str:
        return self.told[-1].act

    def added(self, arrival: str = "factory-new", type: str = "hook", **more: Any) -> "Life":
        return self.then(facts.ItemAdded, item=self.item, type=type, arrival=arrival, **more)

    def used(self, patient: str = ONE, use: str = "", **more: Any) -> "Life":
        more.setdefault("item", self.item)
        return self.then(facts.Used, use=use or f"use-{patient}", patient=patient, **more)

    def stepped(self, *steps: str, passed: bool = True) -> "Life":
        for step in steps:
            means = SPORICIDAL if step == "disinfect" else {}
            self.then(facts.Stepped, item=self.item, step=step, passed=passed, **means)
        return self

    def marked(self, what: str, effect: str, **more: Any) -> "Life":
        more.setdefault("item", self.item)
        return self.then(facts.Marked, what=what, effect=effect, **more)

    def packed(self, pack: str = PACK_TAG, *contents: str) -> "Life":
        return self.then(facts.Packed, pack=pack, contents=contents or (HOOK,))

    def put_in(self, load: str = LOAD, *, put: str = "", wrapped: bool = False) -> "Life":
        covers = (self.item,) if put else ()
        return self.then(
            facts.LoadAdded, load=load, item=put or self.item, wrapped=wrapped, covers=covers
        )

    def started(self, load: str = LOAD) -> "Life":
        return self.then(
            facts.LoadStarted,
            load=load,
            machine=MACHINE,
            programme="steam-134",
            covers=(self.item,),
        )

    def ended(self, load: str = LOAD, *steps: str) -> "Life":
        return self.then(
            facts.LoadEnded,
            load=load,
            machine=MACHINE,
            steps=steps or ("sterilise",),
            covers=(self.item,),
        )

    def judged(self, verdict: str = "pass", load: str = LOAD) -> "Life":
        return self.then(
            facts.LoadJudged,
            load=load,
            machine=MACHINE,
            programme="steam-134",
            verdict=verdict,
            covers=(self.item,),
        )

    def released(self, load: str = LOAD) -> "Life":
        return self.then(facts.LoadReleased, load=load, released=(self.item,))

    def cycle(self, load: str = LOAD, *steps: str, put: str = "", wrapped: bool = False) -> "Life":
        """Put in, run, passed and released."""
        self.put_in(load, put=put, wrapped=wrapped).started(load).ended(load, *steps)
        return self.judged(load=load).released(load)

    def round(self, load: str = LOAD) -> "Life":
        """The whole route of a hook."""
        return self.stepped("clean", "inspect").cycle(load)

    def kept_back(self, how: str = "clean-it-now") -> "Life":
        why = Told(code="bent", says="marked “bent” at the bench")
        return self.then(facts.Quarantined, item=self.item, why=why, how=how)


def asking(at: datetime, **more: Any) -> Asking:
    more.setdefault("zone", LONDON)
    more.setdefault("shelf", LIMITS)
    return Asking(at=at, **more)


def against(
    life: Life,
    kind: ItemType = HOOK_TYPE,
    members: "list[Member] | None" = None,
    *,
    after: timedelta = timedelta(minutes=1),
    **more: Any,
) -> list[Why]:
    """Every reason against using it that long after its last fact."""
    return why_not_use(life.stands, kind, asking(life.at + after, **more), members or [])


def codes(reasons: list[Why]) -> list[str]:
    return [why.code for why in reasons]
