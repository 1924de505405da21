"""The book proves itself: seals, tables folded again, late entries, rebuilt from nothing."""

from datetime import timedelta
from pathlib import Path

import pytest

from equip import facts
from equip.demo.cycles import steam_log
from equip.desk.act.act import Refused, acting, begin, keep_act
from equip.desk.bench import scanning
from equip.desk.loads.end import LogFile, end_load
from equip.desk.lookback import history
from equip.desk.register import open_book
from equip.store.fold import rebuild
from equip.store.readings import act_rows, item_rows, load_rows, use_rows
from tests.support.playing import Play


def a_busy_day(play: Play) -> tuple[str, str]:
    hook, tip, steriliser = play.add("hook"), play.add("suction-tip"), play.add("steriliser-vacuum")
    pack = play.sterile_pack(steriliser, hook, tip)
    play.scan("start over", "123456", "start a use", pack, "left ear", "oily", "finish")
    play.scan("move to another patient", "222222", hook, "undo", "undo", "333333", tip, "bent")
    play.run(steriliser, play.add("ring-probe"), hold_s=140)
    return hook, pack


def test_every_table_is_what_the_ledger_adds_up_to(play: Play, tmp_path: Path) -> None:
    a_busy_day(play)

    proof = open_book.verify(play.clinic, [], chain_only=False, scratch=tmp_path)

    assert proof.whole
    assert proof.entries > 40


def test_a_changed_table_is_found_and_rebuilt(play: Play, tmp_path: Path) -> None:
    hook, _ = a_busy_day(play)
    with play.clinic.store.writing():
        play.clinic.store.run("UPDATE standing SET place = 'R99999999A' WHERE item = ?", hook)

    broken = open_book.verify(play.clinic, [], chain_only=False, scratch=tmp_path)
    rebuild.rebuild(play.clinic.store)
    mended = open_book.verify(play.clinic, [], chain_only=False, scratch=tmp_path)

    assert len(broken.projections) == 1
    assert "standing" in broken.projections[0]
    assert hook in broken.projections[0]
    assert mended.whole


def test_an_entry_that_comes_late_is_placed_by_when_it_happened(play: Play, tmp_path: Path) -> None:
    """A use told hours later, from ahead of the cycle that cleaned the hook after it."""
    hook, steriliser = play.add("hook", "go-live"), play.add("steriliser-vacuum")
    earlier = play.clock.now
    play.clock.passes(hours=1)
    play.cleaned(hook)
    play.released(steriliser, hook)
    token_at = play.clinic.store
    with token_at.writing():
        patient = play.clinic.vault.token("123456")
        now = play.clock.now
        act = begin(play.clinic, play.people["nurse"], act="late", at=earlier, now=now)
        act.tell(facts.UseBegun, use="late", patient=patient)
        act.tell(facts.Used, use="late", item=hook, patient=patient)
        act.commit()
        keep_act(act, bench=None, seq=None, payload_hash=b"", reading="", answer="", context="")

    stands = item_rows.standing_of(play.clinic.store, hook)
    page = history.page(play.clinic, hook)

    assert stands is not None
    assert [done.steps for done in stands.done if done.load] == [("sterilise",)]
    assert play.scan("start over", "lay up", hook).tone == "yes"
    assert [line.late for line in page.lines if line.kind == "used"] == [True]
    assert [line.at for line in page.lines] == sorted(line.at for line in page.lines)
    assert open_book.verify(play.clinic, [], chain_only=False, scratch=tmp_path).whole


def test_a_time_in_the_future_is_set_aside_and_kept_as_claimed(play: Play) -> None:
    hook = play.add("hook", "go-live")
    ahead = play.clock.now + timedelta(hours=3)

    scanning.scan(
        play.clinic,
        scanning.Scan("a-scan-from-tomorrow", "b", hook, at=ahead),
        play.people["nurse"],
    )

    asked = [line for line in history.page(play.clinic, hook).lines if line.kind == "asked"]
    assert asked[0].at == play.clock.now
    entry = act_rows.act_span(play.clinic.store, "a-scan-from-tomorrow")
    assert entry is not None


def test_a_use_before_a_gate_is_a_gap_and_one_after_it_is_traceable(play: Play) -> None:
    hook, steriliser = play.add("hook", "go-live"), play.add("steriliser-vacuum")
    play.scan("111111", hook, "finish", "start over")
    play.cleaned(hook)
    load = play.released(steriliser, hook)
    play.scan("start over", "222222", hook, "finish")

    store = play.clinic.store
    traceable, gaps = use_rows.traceable(store), use_rows.gaps(store)

    assert (traceable.traced, traceable.uses, traceable.share) == (1, 2, 0.5)
    assert [gap.item for gap in gaps] == [hook]
    assert [t.gate for t in use_rows.touches_of(play.clinic.store, hook)] == ["", load]
    assert [t.item for t in use_rows.touches_behind(play.clinic.store, load)] == [hook]


def test_history_is_found_by_reference_tag_old_name_load_and_person(play: Play) -> None:
    hook, steriliser = play.add("hook"), play.add("steriliser-vacuum")
    load = play.run(steriliser, hook)
    play.scan("start over", "123456", hook)
    token = play.clinic.vault.find("123456")

    found = [
        history.find(play.clinic, text)
        for text in ("123456", hook.lower(), load, "nell ash", str(token))
    ]

    assert found == [token, hook, load, play.people["nurse"], token]
    assert all(history.page(play.clinic, subject).lines for subject in found)


def test_a_second_log_of_a_judged_load_is_refused(play: Play) -> None:
    steriliser, hook = play.add("steriliser-vacuum"), play.add("hook")
    tag = play.run(steriliser, hook, hold_s=140)
    load = load_rows.load_of(play.clinic.store, tag)
    assert load is not None

    with pytest.raises(Refused, match="evidence already"), acting(play.clinic, by="") as act:
        end_load(act, load, LogFile(steam_log(1)))


def test_a_long_logbook_is_read_page_by_page_and_nothing_is_lost(play: Play) -> None:
    hook, _ = a_busy_day(play)
    whole = history.page(play.clinic, hook).lines

    pages, before = [], ""
    while True:
        page = history.page(play.clinic, hook, most=4, before=before)
        pages.insert(0, page.lines)
        before = page.earlier
        if not before:
            break

    assert len(whole) > 8
    assert tuple(line for lines in pages for line in lines) == whole


@pytest.mark.parametrize("mark", ["x", "1.TEST", "1.TEST.x", "-1.TEST.1", "9" * 80])
def test_a_place_in_a_logbook_that_is_none_is_refused(play: Play, mark: str) -> None:
    hook = play.add("hook")

    with pytest.raises(Refused, match="no place in a logbook"):
        history.page(play.clinic, hook, most=4, before=mark)
