"""Steam cycles: read `judge`, then `log` (what it holds), `own_limits` and `reasons`."""
