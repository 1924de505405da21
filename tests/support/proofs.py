"""Proof files taken apart and put together again, for tests that tamper with them."""

import io
import json
import zipfile
from collections.abc import Callable
from typing import Any

from equip.deliver.proof import verify
from equip.deliver.proof.proof_zip import ProofZip

Files = dict[str, bytes]


def files_in(data: bytes) -> Files:
    with zipfile.ZipFile(io.BytesIO(data)) as pack:
        return {one: pack.read(one) for one in pack.namelist()}


def unpacked(made: ProofZip) -> Files:
    return files_in(made.data)


def faults(files: Files, digest: str = "") -> list[str]:
    """Everything that the verifier finds wrong."""
    return [says for _, wrong in verify.results(files, digest) for says in wrong]


def anew(files: Files) -> Files:
    """The files with their list made anew, as a forger would."""
    inside = {name: data for name, data in files.items() if name != verify.MANIFEST}
    return {**inside, verify.MANIFEST: verify.manifest_of(inside)}


def edited(files: Files, name: str, edit: Callable[[Any], object]) -> Files:
    """One JSON file changed, the table made to follow it, the list made anew."""
    told = json.loads(files[name])
    edit(told)
    changed = {**files, name: json.dumps(told, ensure_ascii=False, indent=1).encode() + b"\n"}
    if name == "answer.json":
        changed["exposures.csv"] = verify.csv_of(told)
    return anew(changed)


def lines_of(files: Files) -> list[dict[str, Any]]:
    return [json.loads(line) for line in files["entries.jsonl"].splitlines()]


def with_lines(files: Files, lines: list[dict[str, Any]]) -> Files:
    text = "".join(json.dumps(one, ensure_ascii=False) + "\n" for one in lines)
    return anew({**files, "entries.jsonl": text.encode()})
