"""As much of a patient's reference as people see, by which they check who is in hand."""

from equip.desk.clinic import Clinic


def patient_end(clinic: Clinic, token: str) -> str:
    """The end of the reference behind *token*, as long as the clinic's rules show."""
    rules = clinic.house.rules(clinic.clock())
    shown, whole = rules.whole("patient.characters-shown"), rules.flag("patient.whole-shown")
    return clinic.vault.hint(token, shown, whole=whole)
