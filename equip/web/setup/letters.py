"""What a link in a letter or a calendar opens without signing in: the link is the proof."""

from flask import (
    Blueprint,
    Response,
    abort,
    current_app,
    g,
    make_response,
    render_template,
    request,
)
from flask.typing import ResponseReturnValue

from equip.desk.act.links import Links
from equip.desk.post import calendars, readers
from equip.desk.post.readers import Reader
from equip.store.post import recipients

bp = Blueprint("letters", __name__)


def links() -> Links:
    return Links(g.clinic.settings.base_url, current_app.extensions["parts"].secret)


@bp.get("/letters/<person>/<signature>")
def letters_page(person: str, signature: str) -> ResponseReturnValue:
    """Asks first: programs that look at every link of a letter must not stop it."""
    return render_template("letters.html", reader=_reader(person, signature), signature=signature)


@bp.post("/letters/<person>/<signature>")
def change(person: str, signature: str) -> ResponseReturnValue:
    """Stops the reminders, or has them come again. A mail program's own button posts here too."""
    reader = _reader(person, signature)
    again = request.form.get("again", "")
    recipients.stop(g.clinic.store, reader.person, None if again else g.now)
    return render_template("letters.html", reader=_reader(person, signature), signature=signature)


def _reader(person: str, signature: str) -> Reader:
    found = [one for one in readers.people_readers(g.clinic) if one.person == person]
    if not found or not links().may_stop(person, found[0].address, signature):
        abort(404)
    return found[0]


@bp.get("/calendar/<subject>/<signature>.ics")
def calendar(subject: str, signature: str) -> ResponseReturnValue:
    found = calendars.read(g.clinic, links(), subject, signature, g.now)
    if found is None:
        abort(404)
    answer: Response = make_response(found)
    answer.headers["Content-Type"] = "text/calendar; charset=utf-8"
    answer.headers["Cache-Control"] = "private, no-cache"
    answer.add_etag()
    return answer.make_conditional(request)
