"""The command line: read `main` (which commands), `call` (what they share), then a family."""
