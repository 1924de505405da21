"""The register: items, types, procedures, labels, stock, and the book of a site opened."""
