"""A proof file: read `proof_file` (given), `evidence` (the entries it rests on), `report`."""
