"""The bytes of a machine's log to samples.

Read `text` (bytes to lines) and `plain` (our own plain log). A machine's own format goes through
`layout` (as described in Setup), `cells`, `rows` and `machine`.
"""
