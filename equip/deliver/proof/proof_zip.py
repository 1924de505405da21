"""A proof file: the files of an answer with its evidence, their list, one zip of the same bytes."""

from collections.abc import Mapping
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from equip.deliver.proof import verify

_README = Path(__file__).with_name("proof_readme.txt")
_PATIENTS = "patients.csv     who stands behind which token: keep it as you keep patient notes\n"


@dataclass(frozen=True, slots=True)
class ProofZip:
    """A proof file as it leaves the house, and the digest that binds every byte of it."""

    data: bytes
    digest: str


def make(files: Mapping[str, bytes], about: str) -> ProofZip:
    """One zip of *files*, the verifier, a word on both, the list of all; always the same bytes."""
    patients = _PATIENTS if "patients.csv" in files else ""
    readme = _README.read_text("utf-8").format(about=about, patients=patients)
    inside = {
        **files,
        "README.txt": readme.encode(),
        "verify.py": Path(verify.__file__).read_bytes(),
    }
    manifest = verify.manifest_of(inside)
    data = verify.zip_of({**inside, verify.MANIFEST: manifest})
    return ProofZip(data, sha256(manifest).hexdigest())
