"""The only SQL. Two databases, one ledger, and the tables that follow from it.

Read `database` (connections, the one writer, migrations) and `ledger`, then `fold` (facts to
tables) and `readings` (questions asked of them). `kept` and `post` are what no ledger can rebuild;
`schema` is the columns, `migrations` how they came, `guarding` the triggers.
"""
