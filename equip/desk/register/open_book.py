"""The book itself: opened for the first time, proved, folded again."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path

from equip.desk.act.act import acting
from equip.desk.clinic import Clinic
from equip.desk.register.items import open_site
from equip.store.fold import rebuild
from equip.store.ledger import ledger, verifying
from equip.store.ledger.verifying import Fault, KeptHead
from equip.store.readings import clinic_rows


@dataclass(frozen=True, slots=True)
class Proof:
    """What was looked at and the first fault found, if any."""

    entries: int
    heads: dict[str, int]
    fault: Fault | None
    projections: tuple[str, ...]
    unguarded: tuple[str, ...] = ()

    @property
    def whole(self) -> bool:
        return self.fault is None and not self.projections and not self.unguarded


def unguarded(proof: Proof, says: str) -> Proof:
    """The same proof of a ledger that anybody could have written in."""
    return replace(proof, unguarded=(says,))


def open_book(clinic: Clinic) -> bool:
    """Open the site's book on the first run: the site and the types it begins with."""
    if any(site.code == clinic.settings.site for site in clinic_rows.sites(clinic.store)):
        return False
    with acting(clinic, by="") as act:
        open_site(act, clinic.settings.site, clinic.settings.zone, clinic.settings.book)
    return True


def verify(clinic: Clinic, kept: Iterable[KeptHead], *, chain_only: bool, scratch: Path) -> Proof:
    """Recompute every seal and, unless told not to, fold the whole ledger again beside it."""
    fault = verifying.verify_chain(clinic.store, kept)
    differs: list[str] = []
    if fault is None and not chain_only:
        differs = rebuild.differences(clinic.store, scratch)
    heads = {site: head.position for site, head in ledger.heads(clinic.store).items()}
    return Proof(sum(heads.values()), heads, fault, tuple(differs))
