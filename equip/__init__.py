"""The Instrument Book: every instrument and machine kept fit for use, and proved so.

Each layer is a folder, and each layer has the same wings, so a capability is one folder name in
every layer. Read `facts` (what can be told), `rules` (what follows from it) and `rulebook` (the
limits); then `store` (where it is kept), `desk` (what people do) and `web` (their pages). `scan`
reads a scanned text, `logs` a machine's log, `photos` a photo; `deliver` is the ways out, `cli`
the command line, `demo` the demonstration. `installation` puts the parts together from
`settings`, and `clock` alone asks the machine what time it is.
"""
