"""What people do: one module for each of their acts, and each loads, decides and appends.

Read `clinic` (the parts, and the register in memory) and `act` (one act is one transaction).
Then follow a scan through `bench`, or a capability: `loads`, `cycles`, `machines`, `fitness`,
`lookback`, `upkeep`, `planning`, `people`, `register`, `post`. `past` brings in the time before
this book.
"""
