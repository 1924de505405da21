"""Whether the machine that a thing is used with is fit: a suction tip's pump, its irrigator.

A tip is no better than what it is put on. One machine of the type that serves it must be fit;
which one it will be is only known once it was scanned, or by the place in hand.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from equip.rules.fitness.why_not import Why
from equip.rules.wording import counted


@dataclass(frozen=True, slots=True)
class Server:
    """One machine: where it is, what it is called and what stands against its use now."""

    item: str
    place: str
    label: str
    against: Sequence[Why] = ()


def in_question(
    servers: Sequence[Server], place: str = "", used: Collection[str] = ()
) -> list[Server]:
    """Those that a thing may be used with: the ones scanned for the same use, else the ones in
    the place in hand, else all.

    What was checked for the use in hand is not asked for again in it.
    """
    if scanned := [_in_use(one) for one in servers if one.item in used]:
        return scanned
    there = [one for one in servers if place and one.place == place]
    return there or list(servers)


def _in_use(server: Server) -> Server:
    against = tuple(why for why in server.against if why.code != "check-missing")
    return replace(server, against=against)


def why_not_served(name: str, servers: Sequence[Server]) -> list[Why]:
    """Why a thing that *servers*, machines of the type called *name*, serve may not be used.

    Nothing stands against it where one of them is fit, or where the book has none. Otherwise the
    sentence is about the one that is nearest to being fit.
    """
    if not servers or any(not one.against for one in servers):
        return []
    nearest = min(servers, key=lambda one: _CODES.index(_code(one)))
    first = nearest.against[0].says
    says = f"{nearest.label}: {first[0].lower()}{first[1:]}"
    if len(servers) > 1:
        says = f"None of {counted(len(servers), name)} is fit for use. {says}"
    return [Why(_code(nearest), says)]


_CODES = ("machine-unchecked", "machine-not-fit", "machine-failed")


def _code(server: Server) -> str:
    codes = {why.code for why in server.against}
    if codes & {"check-failed", "waterline-due"}:
        return "machine-failed"
    return "machine-unchecked" if codes == {"check-missing"} else "machine-not-fit"
