"""Flask, and nothing that decides."""
