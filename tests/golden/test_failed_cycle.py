"""The failed cycle that the README shows: its picture and its sentence are what the code makes.

Made anew by hand with `python -m tests.golden.test_failed_cycle` when the drawing changes.
"""

from datetime import date
from pathlib import Path

from equip import rulebook
from equip.deliver.picture.layout import SCREEN, picture
from equip.deliver.picture.svg import svg
from equip.demo.cycles import steam_log
from equip.desk.cycles.picture.cycle import drawn
from equip.facts import Told
from equip.logs.plain import read_plain
from equip.rules.cycles.steam import judge as steam
from equip.rules.loads.load import Load

HERE = Path(__file__).parent
PICTURE = HERE / "failed-cycle.svg"
README = HERE.parents[1] / "README.md"


def failed_cycle() -> tuple[str, str]:
    """The picture of an invented cycle that was too short, and its first reason."""
    trace = read_plain(steam_log(412, hold_s=148))
    programme = rulebook.load("england").on(date(2026, 3, 1)).programme("steam-134")
    judged = steam.judge(trace, programme)
    reasons = tuple(
        Told(code=r.code, says=r.says, at_s=None if r.at_s is None else r.at_s)  # type: ignore[arg-type]
        for r in judged.reasons
    )
    figures = {name: str(value) for name, value in judged.figures.items() if value is not None}
    load = Load(load="L000004127", verdict=judged.verdict, reasons=reasons, figures=figures)
    found = drawn(trace, programme, load, "Load 412, 134 °C: failed")
    return svg(picture(found, SCREEN)), judged.reasons[0].says


def test_the_picture_in_the_readme_is_what_the_code_draws() -> None:
    made, _ = failed_cycle()

    assert PICTURE.read_text("utf-8") == made + "\n"


def test_the_readme_gives_the_reason_in_the_words_of_the_code() -> None:
    _, says = failed_cycle()

    assert says in README.read_text("utf-8")


if __name__ == "__main__":
    PICTURE.write_text(failed_cycle()[0] + "\n", "utf-8")
