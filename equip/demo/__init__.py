"""The demonstration: a clinic lived through the acts people call. Read `serve`, then `life`."""
