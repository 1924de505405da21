"""What is taken over on going live is declared fit by name, and ages from then on."""

from datetime import date, timedelta

import pytest

from equip.desk.act.act import Refused, acting
from equip.desk.register import import_file, item_fields, items, stock
from equip.store.fold.rebuild import differences
from tests.support.playing import Play


def asked(play: Play, tag: str) -> list[str]:
    answer = play.scan("start over", "lay up", tag)
    return [] if answer.tone == "yes" else play.codes(answer)


def taken_over(play: Play, code: str, **more: object) -> str:
    with acting(play.clinic, by=play.people["manager"]) as act:
        return items.add_item(act, act.house.types[code], "go-live", **more)  # type: ignore[arg-type]


def today(play: Play) -> date:
    return play.clinic.house.today(play.clock.now)


def test_what_is_declared_without_a_day_ages_from_its_declaration(play: Play) -> None:
    # England's book: unwrapped in a clinical room, for that day alone.
    hook = taken_over(play, "hook")
    same_day = asked(play, hook)
    play.clock.passes(days=1)

    answer = play.scan("start over", "lay up", hook)

    assert same_day == []
    assert play.codes(answer) == ["shelf-life-over"]
    assert answer.reasons[0].says.startswith("Declared fit on going live; its time ran out")
    assert differences(play.clinic.store, play.clinic.settings.data) == []


def test_what_lies_sealed_keeps_as_a_pack_does_from_the_day_that_was_declared(play: Play) -> None:
    # England's book: a wrapped item keeps 365 days.
    day = today(play) - timedelta(days=360)
    hook = taken_over(play, "hook", decontaminated=day, sealed=True)

    fifth = play.clock.now + timedelta(days=5)
    now = asked(play, hook)
    play.clock.now = fifth
    last = asked(play, hook)
    play.clock.passes(days=1)
    after = play.scan("start over", "lay up", hook)

    assert (now, last, play.codes(after)) == ([], [], ["shelf-life-over"])
    assert f"decontaminated on {day}" in after.reasons[0].says


def test_what_was_decontaminated_long_before_it_is_declared_is_no_yes(play: Play) -> None:
    hook = taken_over(play, "hook", decontaminated=today(play) - timedelta(days=1))

    assert asked(play, hook) == ["shelf-life-over"]


def test_a_scope_that_was_disinfected_ages_by_hours(play: Play) -> None:
    scope = taken_over(play, "scope-wiped")
    fresh = asked(play, scope)
    play.clock.passes(hours=1, minutes=1)

    assert (fresh, asked(play, scope)) == ([], ["shelf-life-over"])


def test_stock_says_until_when_it_keeps(play: Play) -> None:
    hook = taken_over(play, "hook")

    shown = stock.thing(play.clinic, hook, play.clock.now)

    assert shown is not None
    assert shown.lapses is not None
    assert shown.lapses.astimezone(play.clinic.house.zone).date() == today(play) + timedelta(days=1)


@pytest.mark.parametrize("who", ["nurse", "trainee", "auditor"])
def test_declaring_needs_the_right_to(play: Play, who: str) -> None:
    with (
        pytest.raises(Refused, match="no right to declare an item fit"),
        acting(play.clinic, by=play.people[who]) as act,
    ):
        items.add_item(act, act.house.types["hook"], "go-live")


def test_a_day_to_come_is_refused_and_so_is_a_declaration_of_what_is_new(play: Play) -> None:
    with pytest.raises(Refused, match="that day has not come yet"):
        taken_over(play, "hook", decontaminated=today(play) + timedelta(days=1))
    with (
        pytest.raises(Refused, match="are declared of what is taken over on going live alone"),
        acting(play.clinic, by=play.people["manager"]) as act,
    ):
        items.add_item(act, act.house.types["hook"], "factory-new", sealed=True)


def test_a_file_may_say_when_each_item_was_decontaminated(play: Play) -> None:
    lines = (
        b"type,arrival,decontaminated,sealed\n"
        b"hook,go-live,2026-03-01,yes\n"
        b"hook,factory-new,2026-03-01,\n"
        b"hook,go-live,yesterday,\n"
        b"hook,go-live,,perhaps\n"
    )

    found = import_file.read_register(lines, play.clinic.house, play.clinic.store)

    [good] = found.rows
    assert (good.decontaminated, good.sealed) == (date(2026, 3, 1), True)
    assert [problem.line for problem in found.problems] == [3, 4, 5]
    with acting(play.clinic, by=play.people["manager"]) as act:
        tag = item_fields.put(act, good)
    assert asked(play, tag) == []
