"""Tomorrow's list played ahead with the clinic's own items and machines.

Read `tomorrow` (asked and answered in words), then what it is played with: `units`, `stages` (the
way back of a type) and `todo` (what is still to do on an item).
"""
