"""Hot-water disinfection: read `judge`, then `a0`, `log`, `wet` and `own_limits`."""
