"""The pages of Setup: one module a page, named as the page; forms too long for it beside it.

`setup` is the front page.
"""
