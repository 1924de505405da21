"""The command line.

Read `main` (every command, and one sentence for whatever goes wrong), then `call` (what commands
share, and their statuses). The commands stand in families: `keep` the installation, ask the
`rules`, read the `book`, ask about exposure (`lookback`). `check` holds the kinds of
`python app.py check`.
"""
