"""The guides, for whoever is signed in: a first day, running it, commands, keeping it, the method.

Each is a template that reads as a file too. Tests hold their links, commands, settings and rules
against the code.
"""

from flask import Blueprint, render_template
from flask.typing import ResponseReturnValue

from equip.web.request.guard import anybody

bp = Blueprint("guide", __name__, url_prefix="/setup/guide")


@bp.get("")
def guide_page() -> ResponseReturnValue:
    anybody()
    return render_template("guide.html")


@bp.get("/day")
def day() -> ResponseReturnValue:
    anybody()
    return render_template("guide_day.html")


@bp.get("/running")
def running() -> ResponseReturnValue:
    anybody()
    return render_template("guide_running.html")


@bp.get("/commands")
def commands() -> ResponseReturnValue:
    anybody()
    return render_template("guide_commands.html")


@bp.get("/keeping")
def keeping() -> ResponseReturnValue:
    anybody()
    return render_template("guide_keeping.html")


@bp.get("/method")
def method() -> ResponseReturnValue:
    anybody()
    return render_template("guide_method.html")
