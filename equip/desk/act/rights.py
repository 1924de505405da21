"""Who may do what needs a right: asked of the person who does it, refused with who may."""

from equip.desk.act.act import Act, Refused
from equip.desk.clinic import House


def need(act: Act, right: str, what: str, who: str = "") -> None:
    """Refused unless *who*, or else whoever acts, has *right*; *what* says what they were to do."""
    if right not in act.house.rights(who or act.by):
        raise Refused(f"You have no right to {what}. {who_may(act.house, right)}")


def who_may(house: House, right: str) -> str:
    """The people who have a right, in a sentence."""
    names = [one.name for tag, one in house.staff.items() if right in house.rights(tag)]
    if not names:
        return "Nobody here has that right yet: a manager gives it under Setup, People."
    return f"Ask {' or '.join(names)}."


def as_themselves(act: Act, badge: str, what: str) -> str:
    """Whoever does at a bench what needs a right: the badge in hand, signed in as themselves.

    A badge that lies about does nothing that needs a right, and no sign-in is lent to a badge.
    """
    if (says := why_not_themselves(act, badge, what)) is not None:
        raise Refused(says)
    return act.signed


def why_not_themselves(act: Act, badge: str, what: str) -> str | None:
    """Why *badge*, in hand, may not do *what* needs a right: somebody else is signed in."""
    if not badge or badge == act.signed:
        return None
    holder, signed = act.house.person_name(badge), act.house.person_name(act.signed)
    whose = f"and {signed} is signed in" if act.signed else "and nobody is signed in"
    return (
        f"The badge of {holder} is in hand, {whose}: to {what}, {holder} signs in here with"
        f" badge and PIN{f', or {signed} scans their own badge first' if act.signed else ''}."
    )
