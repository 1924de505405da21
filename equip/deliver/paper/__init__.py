"""A4 pages with the same bytes each time: read `page` and `picture`, then any sheet."""
