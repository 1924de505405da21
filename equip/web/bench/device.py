"""Which bench this device is: picked from the places once, kept by a cookie of its own.

The cookie outlives whoever signs in. A device that nobody named yet is a bench of its own, so two
never share one by accident.
"""

import re
import secrets

from flask import Blueprint, Response, current_app, g, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from equip.desk.act.act import Refused
from equip.desk.register import devices as benches
from equip.store.kept import devices
from equip.store.kept.devices import Device
from equip.web.request.forms import text
from equip.web.request.guard import manager, writer

bp = Blueprint("device", __name__)

_COOKIE = "bench-device"
_YEARS_S = 5 * 366 * 24 * 3600


def device_id() -> str:
    """The id of this device, a new one for a device that was never here."""
    if "device_id" not in g:
        known = request.cookies.get(_COOKIE, "")
        g.device_is_new = not re.fullmatch("[0-9a-f]{32}", known)
        g.device_id = secrets.token_hex(16) if g.device_is_new else known
    return str(g.device_id)


@bp.after_app_request
def keep_id(response: Response) -> Response:
    """Give a new device its id."""
    if g.get("device_is_new"):
        response.set_cookie(
            _COOKIE,
            g.device_id,
            max_age=_YEARS_S,
            httponly=True,
            samesite="Lax",
            secure=current_app.config["SESSION_COOKIE_SECURE"],
        )
    return response


def named() -> Device | None:
    """What this device was named; None as long as nobody did."""
    device = devices.device_of(g.clinic.store, device_id())
    if device is not None:
        devices.seen(g.clinic.store, device, g.now)
    return device


def own_name() -> str:
    """The bench that this device is while nobody named it, or where it moves around."""
    return f"Device {device_id()[:6].upper()}"


@bp.post("/bench/name")
def name() -> ResponseReturnValue:
    """This device is the bench of a place; whoever takes one that is in use is told first."""
    person = writer()
    place = text("place")
    if place and place not in g.clinic.house.places:
        raise Refused(f"{place} is no place of this clinic: choose one from the list.")
    bench = benches.place_bench(g.clinic, place) if place else own_name()
    taken = benches.taken(g.clinic, bench, device_id(), g.now)
    if taken is not None and text("how") not in ("share", "beside"):
        return render_template("device_taken.html", taken=taken, place=place), 409
    if taken is not None and text("how") == "beside":
        bench = taken.own
    devices.named(g.clinic.store, device_id(), bench, place, person.tag, g.now)
    return redirect(url_for("bench.bench_page"), code=303)


@bp.post("/setup/devices/<device>/forget")
def forget(device: str) -> ResponseReturnValue:
    """A device that was lost or given away is no bench any more."""
    manager()
    devices.forgotten(g.clinic.store, device)
    return redirect(url_for("benches.benches_page"), code=303)
