"""A load from open to released.

Read `loads`; beside it stages, soaks, indicators, the watched folder.
"""
