"""What tests share: clinics to play in, lives lived at random, stand-ins for the outside.

Read `playing` (a clinic played by scans) and `life` (one lived at random); `stopped` is their
clock. `lives`, `histories` and `pasts` make facts, `past_play` and `past_oracle` a file of the past
and what follows from it, `spore_play` a steriliser with spore tests. `machine_logs`, `pictures`,
`proofs` and `post_office` are the stand-ins; `commands` reads calls in papers.
"""
