"""The Flask application, put together from parts that are handed in."""

import re
import secrets
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from flask import Flask, Request, Response, g, render_template, request, url_for
from flask.sessions import SecureCookieSession, SecureCookieSessionInterface
from flask.typing import ResponseReturnValue
from flask_wtf.csrf import CSRFError, CSRFProtect
from jinja2 import StrictUndefined
from markupsafe import Markup, escape
from werkzeug.exceptions import HTTPException

from equip.deliver.post.metronome import Metronome
from equip.desk.act.act import Refused
from equip.desk.bench.scanning import OtherText, OutOfTurn
from equip.desk.clinic import Clinic
from equip.rules import wording
from equip.scan import UnreadableScan, show_tag
from equip.typed import Mistyped
from equip.web.bench import bench, checks, device, elsewhere, hurt
from equip.web.due import calibration, due, electrical, outlook, work
from equip.web.history import exposed, exposures_api, history, look_backs, proof
from equip.web.loads import (
    bath,
    evidence,
    indicators,
    layouts,
    load,
    loads,
    logs,
    rejudge,
    sheet,
)
from equip.web.request import api, sign_in
from equip.web.request.guard import NotAllowed, SignInFirst, current
from equip.web.request.problem import problem
from equip.web.setup import (
    benches,
    competence,
    guide,
    labels,
    letters,
    method,
    outbox,
    people,
    places,
    procedures,
    register,
    rules,
    setup,
    types,
)
from equip.web.stock import lots, mixing, stock, tomorrow

_TAG = re.compile(r"\b([EDPSLBRT]) ?([0-9]{4}) ?([0-9]{4}) ?([0-9A-Z])\b")
_TOKEN = re.compile(r"\bt(?=[a-z]*[2-7])[a-z2-7]{12}\b")
_MOST_BYTES = 80 * 1024 * 1024
_POLICY = (
    "default-src 'self'; img-src 'self' data:; style-src 'self'; script-src 'self'; "
    "object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
)


ROOMS = (
    sign_in,
    bench,
    device,
    elsewhere,
    checks,
    stock,
    loads,
    load,
    logs,
    indicators,
    lots,
    evidence,
    bath,
    mixing,
    competence,
    proof,
    due,
    outlook,
    calibration,
    electrical,
    work,
    history,
    exposed,
    look_backs,
    hurt,
    setup,
    register,
    people,
    places,
    types,
    rules,
    method,
    benches,
    guide,
    sheet,
    rejudge,
    layouts,
    labels,
    outbox,
    letters,
    procedures,
    tomorrow,
    api,
    exposures_api,
)
"""Every part of the web that has addresses of its own."""


@dataclass(frozen=True, slots=True)
class Parts:
    """What the application is made of; nothing in it reads the environment."""

    clinic: Clinic
    secret: bytes
    metronome: Metronome | None = None
    pepper: bytes = b""


class _Cookie(SecureCookieSessionInterface):
    """The signed cookie. A bench comes with a key and without a cookie: nothing is unsigned."""

    def open_session(self, app: Flask, request: Request) -> SecureCookieSession | None:
        """What the cookie holds; the signing, a twentieth of a scan, only where there is one."""
        if "Cookie" not in request.headers:
            return self.session_class()
        return super().open_session(app, request)


def create_app(parts: Parts) -> Flask:
    """The whole application, ready for a WSGI server."""
    root = Path(__file__).resolve().parents[2]
    app = Flask("equip.web", template_folder=str(root / "templates"), static_folder=str(_static()))
    app.session_interface = _Cookie()
    settings = parts.clinic.settings
    app.config.update(
        SECRET_KEY=parts.secret,
        SESSION_COOKIE_NAME="instrument-book",
        SESSION_COOKIE_HTTPONLY=True,
        SESSION_COOKIE_SAMESITE="Lax",
        SESSION_COOKIE_SECURE=settings.secure_cookies,
        MAX_CONTENT_LENGTH=_MOST_BYTES,
        WTF_CSRF_TIME_LIMIT=None,
        WTF_CSRF_SSL_STRICT=False,
    )
    app.extensions["parts"] = parts
    app.jinja_env.undefined = StrictUndefined
    _set_up_requests(app, parts)  # ahead of the token check, whose error page needs it
    csrf = CSRFProtect(app)
    for room in ROOMS:
        app.register_blueprint(room.bp)
    csrf.exempt(api.bp)
    csrf.exempt(letters.bp)  # a signed link is the proof; a mail program has no token
    _set_up_words(app, parts.clinic)
    _set_up_errors(app)
    return app


def _static() -> Path:
    return Path(__file__).with_name("static")


def _set_up_requests(app: Flask, parts: Parts) -> None:
    @app.before_request
    def begin() -> None:
        parts.clinic.store.connect()
        g.clinic = parts.clinic
        g.now = parts.clinic.clock()

    @app.after_request
    def guard_headers(response: Response) -> Response:
        response.headers.setdefault("Content-Security-Policy", _POLICY)
        response.headers.setdefault("X-Content-Type-Options", "nosniff")
        response.headers.setdefault("Referrer-Policy", "same-origin")
        response.headers.setdefault("Cross-Origin-Opener-Policy", "same-origin")
        if not request.path.startswith("/static/"):
            response.headers.setdefault("Cache-Control", "no-store")
        return response


def _set_up_words(app: Flask, clinic: Clinic) -> None:
    def when(moment: datetime) -> str:
        return wording.when(moment, g.now, clinic.house.zone)

    def clock(moment: datetime) -> str:
        return f"{moment.astimezone(clinic.house.zone):%H:%M}"

    def day(moment: datetime | date) -> str:
        here = g.now.astimezone(clinic.house.zone)
        if not isinstance(moment, datetime):
            moment = datetime(moment.year, moment.month, moment.day, tzinfo=clinic.house.zone)
        return wording.day(moment.astimezone(clinic.house.zone), here)

    def stamp(moment: datetime) -> str:
        return moment.astimezone(clinic.house.zone).isoformat(timespec="seconds")

    app.jinja_env.filters.update(
        when=when,
        clock=clock,
        day=day,
        stamp=stamp,
        log_time=wording.exact_span,
        span=wording.span,
        tag=shown_tag,
        linked=linked,
        token=token,
    )
    app.jinja_env.globals.update(person=current)

    wings = {room.bp.name: room.__name__.split(".")[2] for room in ROOMS}

    @app.context_processor
    def everywhere() -> dict[str, object]:
        # Under which screen at the top a page stands: its address under Setup, or else its wing.
        below_setup = request.path.startswith("/setup")
        screen = "setup" if below_setup else wings.get(request.blueprint or "", "")
        return {"clinic_name": clinic.house.name, "house": clinic.house, "screen": screen}


def shown_tag(text: str) -> str:
    """The tag in its groups, kept on one line."""
    return show_tag("".join(text.split())).replace(" ", "\N{NO-BREAK SPACE}")


def token(text: str) -> str:
    """A patient token short enough to be read: t·7f3a."""
    return f"t·{text[1:5]}"


def linked(text: str) -> Markup:
    """*text* with every tag and patient token in it as a link to its history."""

    def link(subject: str, shown: str) -> str:
        href = url_for("history.of", subject=subject)
        return f'<a class="mono" href="{escape(href)}">{escape(shown)}</a>'

    safe = str(escape(text))
    safe = _TAG.sub(lambda found: link("".join(found.groups()), shown_tag(found[0])), safe)
    return Markup(_TOKEN.sub(lambda found: link(found[0], token(found[0])), safe))  # noqa: S704


def _set_up_errors(app: Flask) -> None:
    def answer(status: int, title: str, says: str, way: str = "") -> ResponseReturnValue:
        if request.path.startswith("/api/"):
            return problem(status, title, says), status
        try:
            page = render_template("error.html", title=title, says=says, way=way)
        except Exception:  # the page needs the book; if that is the fault, plain words must do
            app.logger.exception("the page of an error could not be shown")
            return Response(f"{title}. {says}\n", mimetype="text/plain"), status
        return page, status

    @app.errorhandler(SignInFirst)
    def sign_in_first(error: SignInFirst) -> ResponseReturnValue:
        if request.path.startswith("/api/"):
            return answer(401, "Sign in first", "This needs a signed-in person or a bench key.")
        return sign_in.ask(request.full_path if request.method == "GET" else "/")

    @app.errorhandler(NotAllowed)
    def not_allowed(error: NotAllowed) -> ResponseReturnValue:
        return answer(403, "Not allowed", str(error), "Ask somebody who has the right.")

    @app.errorhandler(Refused)
    @app.errorhandler(UnreadableScan)
    @app.errorhandler(Mistyped)
    def refused(error: Exception) -> ResponseReturnValue:
        return answer(400, "That cannot be done", str(error), "Go back and mend it.")

    @app.errorhandler(OtherText)
    def other_text(error: OtherText) -> ResponseReturnValue:
        return answer(422, "The id was used before", str(error))

    @app.errorhandler(OutOfTurn)
    def out_of_turn(error: OutOfTurn) -> ResponseReturnValue:
        return answer(409, "Out of turn", str(error))

    @app.errorhandler(CSRFError)
    def stale_form(error: CSRFError) -> ResponseReturnValue:
        says = "This form is too old or came from elsewhere: nothing was changed."
        return answer(400, "Load the page again", says, "Go back, reload the page, try again.")

    @app.errorhandler(413)
    def too_big(error: HTTPException) -> ResponseReturnValue:
        says = f"The file is larger than {_MOST_BYTES // 1024 // 1024} MB: nothing was changed."
        return answer(413, "Too large", says, "Hand in the log of one cycle only.")

    @app.errorhandler(404)
    def not_found(error: HTTPException) -> ResponseReturnValue:
        return answer(404, "Not here", "There is no page at this address.", "Start at the Bench.")

    @app.errorhandler(405)
    def wrong_way(error: HTTPException) -> ResponseReturnValue:
        return answer(405, "Not this way", "This address does not take that request.")

    @app.errorhandler(500)
    def broken(error: HTTPException) -> ResponseReturnValue:
        number = secrets.token_hex(4)
        app.logger.error("fault %s at %s", number, request.path, exc_info=error)
        says = f"Something broke here and nothing was written down. Its number is {number}."
        return answer(500, "Our fault", says, "Try once more; if it stays, tell whoever runs this.")
