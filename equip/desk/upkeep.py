"""What is due, and what was done about it."""

from equip.desk.duties import Due, due
from equip.desk.duty_acts import meet_duty, set_duty

__all__ = ["Due", "due", "meet_duty", "set_duty"]
