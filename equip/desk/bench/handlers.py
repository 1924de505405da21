"""What each act does: every card of `equip/acts.py` bound to its handler, in this one place."""

from collections.abc import Callable, Mapping
from functools import partial

from equip import acts
from equip.desk.act.act import Act
from equip.desk.act.answer import Answer
from equip.desk.bench import (
    counts,
    earlier,
    failed_indicator,
    load_scans,
    mishaps,
    missing_pieces,
    override,
    packing,
    session_scans,
    soak_scans,
    steps,
    take_up,
    taking_back,
    uses,
    whose,
)
from equip.desk.lookback import injuries
from equip.facts import Step
from equip.rules.bench.transitions import Context

Handler = Callable[[Act, Context], tuple[Context, Answer]]

_STEPS: dict[str, tuple[Step, bool]] = {
    "wipe": ("wipe", True),
    "clean": ("clean", True),
    "rinse": ("rinse", True),
    "dry": ("dry", True),
    "disinfect": ("disinfect", True),
    "inspect pass": ("inspect", True),
    "inspect fail": ("inspect", False),
}
_MARKS: dict[str, str] = {
    "dropped": "dropped",
    "blocked": "blocked",
    "bent": "bent",
    "image fault": "image-fault",
    "tube touched scope": "tube-touched-scope",
    "wet pack": "wet",
    "torn pack": "torn",
    "unpack": "unpacked",
}

HANDLERS: Mapping[str, Handler] = {
    "check": session_scans.card,
    "good": session_scans.good,
    "session over": session_scans.session_over,
    "lay up": uses.lay_up,
    "start a use": uses.start,
    "finish": counts.finish,
    "one more": whose.one_more,
    "left ear": partial(uses.ear, which="left"),
    "right ear": partial(uses.ear, which="right"),
    "both ears": partial(uses.ear, which="both"),
    "soil": uses.soil,
    **{word: partial(uses.soil, what=word) for word in acts.words("soil")},
    "opened, not used": uses.opened_only,
    "used anyway": override.card,
    **{
        word: partial(steps.step_card, word=word, step=step, passed=passed)
        for word, (step, passed) in _STEPS.items()
    },
    "pack": packing.pack_card,
    "count": packing.ask_count,
    "all there": counts.all_there,
    "store": packing.store_card,
    "start the load": load_scans.start,
    "end the load": load_scans.end,
    "release": counts.release,
    "run again": load_scans.run_again,
    "take out": load_scans.take_out_card,
    "fill the bath": soak_scans.fill_card,
    **{word: partial(mishaps.mark, word=word, what=what) for word, what in _MARKS.items()},
    "indicator not turned": failed_indicator.not_turned,
    "missing": missing_pieces.missing,
    "found": missing_pieces.found,
    "I was hurt": injuries.hurt,
    "undo": taking_back.undo,
    "take it back": taking_back.take_it_back,
    "other patients too": taking_back.others_too,
    "earlier": earlier.card,
    "now": earlier.now,
    "move to another patient": mishaps.move,
    "go on here": take_up.card,
    "start over": mishaps.start_over,
}
"""The handler of each word, in the order of its groups."""
