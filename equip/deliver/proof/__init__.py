"""A proof file as one zip of the same bytes, with the verifier that runs alone."""
