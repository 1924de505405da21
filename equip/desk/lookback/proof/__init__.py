"""A proof file: given (`proof_file`), its evidence, its report in words."""
