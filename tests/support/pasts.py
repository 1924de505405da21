"""Small invented pasts, brought in, in which somebody was exposed."""

from datetime import timedelta

from equip.desk.past.bring_in import bring_in
from equip.desk.past.file import read_past
from tests.support.playing import Play
from tests.support.stopped import NOON

HEAD = "when,what,item,patient,load,machine,programme,result,who,ear,note"


def days_ago(days: float) -> str:
    return (NOON - timedelta(days=days)).isoformat()


def bring(play: Play, *rows: str) -> None:
    """Take in these rows; tags of packs made from here on start after theirs."""
    data = "\n".join((HEAD, *rows, "")).encode()
    found = read_past(data)
    assert not found.problems
    bring_in(play.clinic, found.rows, data, "past.csv")
    play.packs += 100


def shared(play: Play, patients: int, item: str = "old hook", first: int = 900_000) -> None:
    """One hook on so many patients, a minute apart, with nothing done in between."""
    bring(
        play,
        *(
            f"{days_ago(9 - n / 1440)},use,{item},{first + n},,,,,Nell Ash,,hook"
            for n in range(patients)
        ),
    )


def mixed(play: Play) -> None:
    """Five packs of four tips, three of them used, mixed in a load that failed; one use after."""
    packs = [f"tips {n}" for n in range(1, 6)]
    put = "Steriliser old,steam-134"
    bring(
        play,
        *(
            f"{days_ago(20)},load,{p},,L-1,{put},pass,Nell Ash,,suction-tip contents=4"
            for p in packs
        ),
        *(f"{days_ago(18 - n / 24)},use,{packs[n]},80000{n},,,,,Nell Ash,," for n in range(3)),
        *(
            f"{days_ago(17)},load,{p},,L-2,{put},fail,Nell Ash,,suction-tip contents=4"
            for p in packs
        ),
        *(f"{days_ago(16.9)},packed,new {p},,L-2,,,,Nell Ash,,suction-tip" for p in packs),
        f"{days_ago(16)},use,new tips 1,800010,,,,,Nell Ash,,",
    )
