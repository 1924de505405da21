"""Questions that the desk and the pages ask, each answered by one small dataclass or a list.

One module for each kind of row: `item_rows`, `use_rows`, `load_rows`, `exposure_rows` and so on.
"""
