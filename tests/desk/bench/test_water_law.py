"""Days of an irrigator at random: whom its water reached, against a slow second opinion."""

from collections.abc import Callable
from contextlib import suppress
from datetime import timedelta
from decimal import Decimal
from random import Random

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from equip import facts
from equip.desk.act.act import Refused, acting
from equip.desk.lookback import exposure_answer
from equip.desk.lookback.cases import case_acts, case_evidence
from equip.desk.lookback.cases.case_evidence import EvidenceSeen
from equip.desk.machines import lots
from equip.facts import Stated
from equip.store.fold.rebuild import differences
from tests.support.playing import Play
from tests.support.water_oracle import exposed_by_water

FreshPlay = Callable[[], Play]
PATIENTS = ("123451", "123452", "123453")


class Days:
    """An irrigator, two lots for its waterline (one stops too little), and what happens to it."""

    def __init__(self, play: Play, random: Random) -> None:
        self.play, self.random = play, random
        play.keeps_checks = False
        self.irrigator = play.add("irrigator")
        self.handpiece = play.add("irrigator-handpiece", "go-live")
        self.lots = [self._lot(agent) for agent in ("hypochlorite-0.1", "alcohol-70")]

    def _lot(self, agent: str) -> str:
        stated = Stated(contact_s=600, agent=agent, percent=Decimal("0.1"))
        with acting(self.play.clinic, by=self.play.people["manager"]) as act:
            return lots.add(act, "waterline", "Tablets", f"W-{agent}", stated=stated)

    def go_on(self, acts: int) -> None:
        ways = (
            *[self.used] * 6,
            *[self.disinfected] * 4,
            *[self.rinsed, self.dried] * 2,
            *[self.next_day, self.taken_back, self.told_late, self.told_late_of_a_use],
            *[self.wiped, self.cleaned, self.dropped, self.doubted],
        )
        for _ in range(acts):
            self.play.clock.passes(minutes=self.random.choice([1, 4, 30]))
            with suppress(Refused):
                self.random.choice(ways)()

    def used(self) -> None:
        patient = self.random.choice(PATIENTS)
        tag = self.random.choice([self.irrigator, self.irrigator, self.handpiece])
        asks = self.random.choice([[], ["start a use"]])
        self.play.scan("start over", patient, *asks, tag, "finish")

    def disinfected(self) -> None:
        lot = self.random.choice([self.lots[0], self.lots[0], self.lots[0], self.lots[1]])
        self.play.scan("start over", "disinfect", lot, self.irrigator)
        self.play.clock.passes(minutes=self.random.choice([3, 10, 12]))

    def rinsed(self) -> None:
        self.play.scan("start over", "rinse", self.irrigator)

    def dried(self) -> None:
        self.play.scan("start over", "dry", self.irrigator)

    def wiped(self) -> None:
        self.play.scan("start over", "wipe", self.irrigator)

    def cleaned(self) -> None:
        self.play.scan("start over", "clean", self.irrigator)

    def dropped(self) -> None:
        self.play.scan("start over", "lay up", self.irrigator, "dropped")

    def next_day(self) -> None:
        self.play.clock.passes(hours=self.random.choice([9, 15, 24, 80]))

    def taken_back(self) -> None:
        self.play.scan("undo", "other patients too", "take it back")

    def told_late(self) -> None:
        """A disinfection of some hours ago; of some, that it stopped nothing."""
        stops = self.random.choice([("bacteria-viruses",), ("bacteria-viruses",), ()])
        self._late(
            facts.Stepped,
            step="disinfect",
            lots=(self.lots[0],),
            contact_s=600,
            agent="hypochlorite-0.1",
            stops=stops,
        )

    def told_late_of_a_use(self) -> None:
        patient = self.play.clinic.vault.find(self.random.choice(PATIENTS))
        if patient is not None:
            self._late(facts.Used, use=f"late-{self.random.random()}", patient=patient, asked=False)

    def _late(self, kind: type[facts.Fact], **fields: object) -> None:
        at = self.play.clock.now - timedelta(minutes=self.random.randint(20, 900))
        with acting(self.play.clinic, by=self.play.people["nurse"]) as act:
            act.tell(kind, item=self.irrigator, at=at, **fields)  # type: ignore[arg-type]

    def doubted(self) -> None:
        clinic = self.play.clinic
        seen = EvidenceSeen(case_evidence.evidence_named("water"), self.irrigator)
        found = case_evidence.propose(clinic, seen, clinic.clock())
        if not found.gates:
            return
        gates = self.random.sample(found.gates, 1)
        with acting(clinic, by=self.play.people["manager"]) as act:
            case_acts.open_case(act, found, self.irrigator, "a bad sample", (), tuple(gates))

    def listed(self) -> set[tuple[str, str]]:
        return {
            (one.use, source.use)
            for one in exposure_answer.open_now(self.play.clinic)
            if one.item == self.irrigator
            for source in one.sources
        }


@settings(max_examples=20, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.integers(0, 2**32))
def test_whom_the_water_reached_is_what_the_slow_second_opinion_says(
    fresh_play: FreshPlay, seed: int
) -> None:
    random = Random(seed)
    days = Days(fresh_play(), random)
    for _ in range(3):
        days.go_on(random.randint(4, 16))
        store = days.play.clinic.store
        assert days.listed() == exposed_by_water(store, days.irrigator)
    assert differences(store, days.play.clinic.settings.data) == []


@settings(max_examples=8, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.integers(0, 2**32))
def test_after_a_yes_its_water_exposes_nobody(fresh_play: FreshPlay, seed: int) -> None:
    random = Random(seed)
    days = Days(fresh_play(), random)
    for _ in range(6):
        days.go_on(random.randint(2, 8))
        before = days.listed()
        with suppress(Refused):
            days.play.scan("start over", "check", days.irrigator, "good", "37", "1")
        answer = days.play.scan("start over", "123459", "start a use", days.irrigator)
        days.play.scan("finish")
        if answer.tone == "yes":
            assert not days.listed() - before
