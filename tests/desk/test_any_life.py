"""However a clinic lived, what is kept with every entry is what the whole ledger adds up to."""

from collections.abc import Callable
from random import Random

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from equip.desk import tracing
from equip.rules.exposure import sweep
from equip.store.contacts import Contacts
from equip.store.exposures import tallies
from equip.store.refolding import differences
from tests.life import Life
from tests.playing import Play


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.integers(0, 2**32))
def test_whatever_happened_the_tables_are_what_the_ledger_adds_up_to(
    fresh_play: Callable[[], Play], seed: int
) -> None:
    play, random = fresh_play(), Random(seed)
    life = Life.begin(play, random)

    life.goes_on(random.randint(5, 60))

    store = play.clinic.store
    assert differences(store, play.clinic.settings.data) == []
    kept = tracing.open_now(play.clinic)
    met = Contacts(store)
    items = [row[0] for row in store.rows("SELECT DISTINCT item FROM touch")]
    found = sweep(sorted(contact for item in items for contact in met.of(item)))
    assert kept == sorted(found, key=lambda one: (one.at, one.item, one.use))
    uses = store.one("SELECT COUNT(*), SUM(gap) FROM touch WHERE sort = 'use'") or (0, 0)
    counts = tallies(store)
    assert (counts.get("uses", 0), counts.get("gaps", 0)) == (uses[0], uses[1] or 0)
    assert counts.get("exposed", 0) == len(kept)
