"""The columns: `kept` is what no ledger can rebuild, `rebuilt` is what it can."""
