"""Signing in by password, or by badge and PIN; signing out."""

from urllib.parse import urlsplit

from flask import Blueprint, current_app, g, redirect, render_template, request, session, url_for
from flask.typing import ResponseReturnValue

from equip import typed
from equip.store.kept import people
from equip.web.request.guard import current

bp = Blueprint("sign_in", __name__)


@bp.get("/sign-in")
def sign_in_page() -> ResponseReturnValue:
    if current() is not None:
        return redirect(url_for("sign_in.home"), code=303)
    return ask(request.args.get("next", "/"))


@bp.get("/")
def home() -> ResponseReturnValue:
    person = current()
    if person is None:
        return ask("/")
    if person.writes:
        return redirect(url_for("bench.bench_page"), code=303)
    return redirect(url_for("history.history_page"), code=303)


@bp.post("/sign-in")
def sign_in() -> ResponseReturnValue:
    who = request.form.get("who", "")
    secret = request.form.get("secret", "")
    way = request.form.get("next", "/")
    clinic = g.clinic
    tag = _whose(who)
    rules = clinic.house.rules(g.now)
    if tag is None:
        outcome_says = "Nobody signs in by that name or badge with that password or PIN."
        return ask(way, outcome_says, who), 403
    if typed.is_digits(secret, 8):
        outcome = people.check_pin(
            clinic.store,
            tag,
            secret,
            g.now,
            pepper=current_app.extensions["parts"].pepper,
            tries=rules.whole("pin.tries"),
        )
        how = "pin"
    else:
        outcome = people.check_password(
            clinic.store, tag, secret, g.now, slowest=rules.whole("password.slowest-s")
        )
        how = "password"
    if not outcome.ok:
        return ask(way, outcome.says, who), 403
    session.clear()
    session["key"] = people.open_session(clinic.store, tag, how, g.now)
    return redirect(_inside(way), code=303)


@bp.post("/sign-out")
def sign_out() -> ResponseReturnValue:
    if key := session.get("key"):
        people.close_session(g.clinic.store, key)
    session.clear()
    return redirect(url_for("sign_in.sign_in_page"), code=303)


def ask(way: str, says: str = "", who: str = "") -> str:
    return render_template("sign_in.html", way=_inside(way), says=says, who=who)


def _whose(text: str) -> str | None:
    """The badge that a badge scan or a name means, if exactly one active person has it."""
    staff = g.clinic.house.staff
    tag = typed.maybe_tag(text)
    if tag is None:
        wanted = " ".join(text.split()).lower()
        found = [p.tag for p in staff.values() if p.active and p.name.lower() == wanted]
        return found[0] if len(found) == 1 else None
    member = staff.get(tag)
    return tag if member is not None and member.active else None


def _inside(way: str) -> str:
    """A way on that stays in this house; anything else leads home."""
    parts = urlsplit(way)
    fine = not parts.scheme and not parts.netloc and way.startswith("/") and "\\" not in way
    return way if fine and not way.startswith("//") else "/"
