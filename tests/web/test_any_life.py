"""However a clinic lived, every page of it opens, for everybody who may see it."""

from collections.abc import Callable
from random import Random

import pytest
from flask.testing import FlaskClient

from tests.support.life import Life
from tests.support.playing import Play

SignIn = Callable[[str], FlaskClient]
_PAGES = (
    "/bench",
    "/stock",
    "/loads",
    "/due",
    "/due/year",
    "/due/month",
    "/checks",
    "/history",
    "/history/exposed",
    "/history/gaps",
    "/setup/register",
    "/setup/people",
    "/setup/types",
    "/setup/places",
    "/setup/reminders",
    "/setup/outbox",
)


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("role", ["manager", "auditor"])
def test_every_page_of_a_clinic_that_lived_at_random_opens(
    signed_in: SignIn, play: Play, seed: int, role: str
) -> None:
    life = Life.begin(play, Random(seed))
    life.goes_on(40)
    client = signed_in(role)

    opened = {page: client.get(page).status_code for page in (*_PAGES, *_own_pages(life))}

    assert {page: status for page, status in opened.items() if status != 200} == {}


def _own_pages(life: Life) -> list[str]:
    """The page and the logbook of whatever there is."""
    store = life.play.clinic.store
    pages = [f"/look-backs/{case}" for case in life.cases]
    for (tag,) in store.rows("SELECT tag FROM item"):
        pages += [f"/things/{tag}", f"/history/{tag}"]
        if tag[0] in "ED":
            pages.append(f"/due/things/{tag}")
    for (tag,) in store.rows("SELECT tag FROM load"):
        pages += [f"/loads/{tag}", f"/history/{tag}"]
    pages += [f"/history/{token}" for (token,) in store.rows("SELECT DISTINCT patient FROM use")]
    pages += [f"/history/{person}" for person in life.play.people.values()]
    exposed = store.rows("SELECT item, ref FROM exposure")
    return pages + [f"/history/exposed/{item}/{use}" for item, use in exposed]
