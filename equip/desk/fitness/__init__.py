"""What makes an item unfit today beyond its own facts.

Session checks, its machine, overdue tasks.
"""
