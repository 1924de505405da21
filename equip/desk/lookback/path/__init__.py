"""How one exposure came about, drawn and in words: read `path_page`, `surest_path`."""
