"""Reminders.

The tick writes letters once, `send` delivers them, `recheck` withdraws what is done.
"""
