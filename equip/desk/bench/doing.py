"""What a bench is doing, in words: the same on its strip and when somebody is told of a change."""

from equip.rules.bench.transitions import Context

_DOING = {
    "": "asking",
    "lay-up": "laying up",
    "use": "in use: each scan asks first",
    "tell": "telling what was used",
    "pack": "packing",
    "store": "putting away",
    "load": "filling a load",
    "take-out": "taking out of a load",
    "check": "checking for the session",
}


def doing(context: Context) -> str:
    """How the next tag is taken."""
    if context.counting:
        return "counting a set"
    if context.mode == "tell" and context.finished:
        return "finished: the next scan asks for its patient"
    if context.mode == "step":
        return f"step: {context.step}" + ("" if context.passed else " failed")
    return _DOING.get(context.mode, "")
