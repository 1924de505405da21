"""Flask, and nothing that decides: text in, an act of the desk, a page out.

Read `application` (put together from its parts) and `request` (who asks, what was typed), then a
room as people know it: `bench`, `stock`, `loads`, `due`, `history`, `setup`.
"""
