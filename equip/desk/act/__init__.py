"""One act: begun, told, committed in one transaction. Read `act` before any other wing.

`answer` is what the bench says back, `as_told` how reasons and rules stand in a fact. `alarms`,
`keep_back` and `links` are what many acts bring about: word that uses are exposed, what came out
of a load kept back as one, and links that prove who holds them.
"""
