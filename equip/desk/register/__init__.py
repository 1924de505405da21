"""The register: what the clinic has, and the book of a site opened.

Read `items` (types, items, people, places, rules), `import_file` (the same from a file) and
`stock` (what stands where). `open_book` opens and proves the book. `machine_limits` and
`process_checks` belong to a machine's type, `procedures` to a list, `labels` to the printer.
`set_counts` is what belongs in a set and which count lacks, `searches` what is missing of one.
"""
