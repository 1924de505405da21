"""A judged log as curves and limits: read `cycle`, `curves`, then `steam` or `washer`."""
