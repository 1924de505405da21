"""Setup, Method: how every figure is worked out, with its source."""

from flask import Blueprint, g, render_template
from flask.typing import ResponseReturnValue

from equip.desk.cycles import methods
from equip.web.request.guard import anybody

bp = Blueprint("method", __name__, url_prefix="/setup")


@bp.get("/method")
def method_page() -> ResponseReturnValue:
    anybody()
    return render_template("methods.html", shown=methods.methods(g.clinic, g.now))
