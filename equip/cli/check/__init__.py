"""The kinds of `check`: each reads its JSON strictly, asks a pure rule, and answers in JSON."""
