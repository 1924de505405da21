"""The logbook of an item, a patient, a load shows which uses were exposures and which are gaps."""

from equip.desk.lookback import history
from equip.desk.lookback.history import HistoryLine
from tests.support.playing import Play


def marked(play: Play, subject: str) -> list[HistoryLine]:
    return [line for line in history.page(play.clinic, subject).lines if line.marks]


def token(play: Play, reference: str) -> str:
    found = play.clinic.vault.find(reference)
    assert found is not None
    return found


def test_an_items_and_a_patients_logbook_say_after_whom_and_how_surely(play: Play) -> None:
    hook, steriliser = play.add("hook"), play.add("steriliser-vacuum")
    play.sterile_pack(steriliser, hook)
    play.scan("start over", "123456", hook, "finish", "start over", "654321", hook, "finish")

    for subject in (hook, token(play, "654321")):
        (line,) = marked(play, subject)
        (mark,) = line.marks
        assert mark.exposed is not None
        assert mark.exposed.row.certainty.word == "certain"
        assert [source.patient for source in mark.exposed.sources] == [token(play, "123456")]
        assert line.kind == "used"
    assert marked(play, token(play, "123456")) == []


def test_a_gap_says_why_in_the_logbook(play: Play) -> None:
    hook = play.add("hook", "go-live")
    play.scan("start over", "123456", hook, "finish")

    (line,) = marked(play, hook)

    assert line.marks[0].exposed is None
    assert "declared fit on going live" in line.marks[0].gap


def test_a_load_lists_the_uses_after_it_up_to_where_things_were_cleared(play: Play) -> None:
    hook, steriliser = play.add("hook"), play.add("steriliser-vacuum")
    play.sterile_pack(steriliser, hook)
    play.scan("start over", "123456", hook, "finish")
    play.cleaned(hook)
    bad = play.run(steriliser, play.packed(hook), hold_s=120)
    play.scan("start over", "654321", hook, "finish")
    play.sterile_pack(steriliser, hook)
    play.scan("start over", "111111", hook, "finish")

    after = history.page(play.clinic, bad).after

    assert [one.touch.patient for one in after] == [token(play, "654321")]
    assert after[0].marks[0].exposed is not None


def test_a_good_life_has_no_marks(play: Play) -> None:
    hook, steriliser = play.add("hook"), play.add("steriliser-vacuum")
    load = ""
    for reference in ("123456", "654321"):
        play.cleaned(hook)
        pack = play.packed(hook)
        load = play.released(steriliser, pack)
        play.scan("start over", reference, pack, "finish")

    assert marked(play, hook) == []
    after = history.page(play.clinic, load).after
    assert [one.touch.patient for one in after] == [token(play, "654321")]
    assert all(not one.marks for one in after)
