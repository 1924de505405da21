"""Checks a proof file of The Instrument Book offline, with nothing but Python 3.9 or newer.

    python -I verify.py [FOLDER or FILE.zip] [--digest HEX]

Without a folder or file it checks the folder that it lies in. The digest is the one that the book
showed when the proof file was made and keeps in its own ledger; without it a forger who made every
file anew, this one too, would not be found. One line a check; the status is 0 if all is well.
"""

from __future__ import annotations

import argparse
import csv
import io
import json
import struct
import sys
import zipfile
import zlib
from datetime import datetime, timedelta, timezone
from hashlib import sha256
from pathlib import Path
from typing import Any, Callable, Dict, Iterator, List, Optional, Set, Tuple

MANIFEST = "MANIFEST.sha256"
LEAST = ["README.txt", "answer.json", "entries.jsonl", "evidence.json", "exposures.csv"]
LEAST += ["proofs.json", "report.pdf", "verify.py"]
COLUMNS = ["list", "patient", "item", "used_at", "certainty", "share"]
COLUMNS += ["source_patient", "source_used_at", "source_certainty", "source_share", "path"]
Files = Dict[str, bytes]
Json = Dict[str, Any]


class Broken(Exception):
    """Something is not as it was made; the message says what, and in which file."""


# --- what is made one way only, so that any change shows -----------------------------------------


def manifest_of(files: Files) -> bytes:
    """One line a file, by name: its SHA-256, two spaces, the name (`sha256sum -c` reads it)."""
    lines = [f"{sha256(files[name]).hexdigest()}  {name}\n" for name in sorted(files)]
    return "".join(lines).encode()


def zip_of(files: Files) -> bytes:
    """The one zip of these files: by name, not compressed, dated 1 January 1980."""
    body, index = [], []
    at = 0
    for name in sorted(files):
        data, spelled = files[name], name.encode("ascii")
        facts = (20, 0, 0, 0, 33, zlib.crc32(data), len(data), len(data), len(spelled), 0)
        index.append(struct.pack("<4s2H", b"PK\x01\x02", 0x0314, facts[0]))
        index.append(struct.pack("<4H3L2H", *facts[1:]))
        index.append(struct.pack("<3H2L", 0, 0, 0, 0o100644 << 16, at) + spelled)
        body += [struct.pack("<4s5H3L2H", b"PK\x03\x04", *facts), spelled, data]
        at += 30 + len(spelled) + len(data)
    whole, count = b"".join(index), len(files)
    end = struct.pack("<4s4H2LH", b"PK\x05\x06", 0, 0, count, count, len(whole), at, 0)
    return b"".join([*body, whole, end])


def csv_of(answer: Json) -> bytes:
    """The lists of an answer as a table, a line for each source."""
    out = io.StringIO(newline="")
    table = csv.writer(out, lineterminator="\r\n")
    table.writerow(COLUMNS)
    for name in ("exposures", "already_open"):
        for one in answer[name]:
            for source in one["sources"]:
                table.writerow(_row(name, one, source))
    for gap in answer["gaps"]:
        row = ["gaps", gap["patient"], gap["item"], gap["used_at"]]
        table.writerow([cell(one) for one in row] + [""] * (len(COLUMNS) - len(row)))
    return out.getvalue().encode("utf-8")


def _row(name: str, one: Json, source: Json) -> List[str]:
    of_use = [name, *(one[key] for key in COLUMNS[1:6])]
    outside = "outside" if source["patient"] is None else source["patient"]
    of_source = [outside, source["used_at"], source["certainty"], source["share"]]
    return [cell(one) for one in [*of_use, *of_source]] + [" ".join(one["path"])]


def cell(value: object) -> str:
    """A cell that no spreadsheet takes for a formula."""
    text = str(value)
    return "'" + text if text[:1] in ("=", "+", "-", "@", "\t", "\r") else text


# --- seals and the tree (RFC 6962) ---------------------------------------------------------------


def seal_of(previous: bytes, site: str, position: int, recorded: int, body: bytes) -> bytes:
    head = f"{site} {position} {recorded}\n".encode("ascii")
    return sha256(previous + head + body).digest()


def root_by(seal: bytes, index: int, size: int, path: List[bytes]) -> Optional[bytes]:
    """The root of a tree of *size* seals that the hashes in *path* lead to; None if they cannot."""
    if not 0 <= index < size:
        return None
    found, last, left = sha256(b"\x00" + seal).digest(), size - 1, list(path)
    while last:
        if index % 2 or index < last:
            if not left:
                return None
            beside = left.pop(0)
            pair = beside + found if index % 2 else found + beside
            found = sha256(b"\x01" + pair).digest()
        index, last = index // 2, last // 2
    return None if left else found


# --- a pack that was read ------------------------------------------------------------------------


class Pack:
    """The files, and what the checks need of them."""

    def __init__(self, files: Files) -> None:
        self.files = files
        self.answer: Json = self._json("answer.json")
        self.evidence: Json = self._json("evidence.json")
        self.proofs: Json = self._json("proofs.json")
        lines = self._text("entries.jsonl").split("\n")[:-1]
        self.entries: List[Json] = [json.loads(line) for line in lines]
        self.bodies: Dict[str, Json] = {_at(one): json.loads(one["body"]) for one in self.entries}
        self.tokens = self._patients()

    def _text(self, name: str) -> str:
        if name not in self.files:
            raise Broken(f"{name} is missing")
        try:
            return self.files[name].decode("utf-8")
        except UnicodeDecodeError:
            raise Broken(f"{name} is not text any more") from None

    def _json(self, name: str) -> Json:
        try:
            found = json.loads(self._text(name))
        except ValueError:
            raise Broken(f"{name} is no JSON any more") from None
        if not isinstance(found, dict):
            raise Broken(f"{name} is no JSON object any more")
        return found

    def _patients(self) -> Dict[str, str]:
        """Token by reference, where references are in the pack."""
        if "patients.csv" not in self.files:
            return {}
        rows = list(csv.reader(io.StringIO(self._text("patients.csv"), newline="")))
        if rows[:1] != [["token", "reference"]] or any(len(row) != 2 for row in rows):
            raise Broken("patients.csv does not begin as it should")
        return {reference: token for token, reference in rows[1:]}

    def body(self, path: str, kinds: Tuple[str, ...], what: str) -> Json:
        """What the entry at *path* says; it must be of one of these kinds."""
        if path not in self.bodies:
            raise Broken(f"{what}: entry {path} is not in entries.jsonl")
        found = self.bodies[path]
        if found.get("kind") not in kinds:
            raise Broken(f"{what}: entry {path} tells no {' or '.join(kinds)}")
        return found

    def token(self, patient: str) -> str:
        """The token of a patient whom the answer names by reference or by token."""
        return self.tokens.get(cell(patient), patient)

    def name(self, tag: str) -> str:
        """What the answer calls the thing or load of that tag."""
        return str(self.evidence["called"].get(tag, {"name": tag})["name"])


def _at(entry: Json) -> str:
    return f"{entry['site']}/{entry['position']}"


def _moment(text: str) -> datetime:
    return datetime.fromisoformat(text.replace("Z", "+00:00"))


# --- the checks: each gives what is wrong, one sentence a fault -----------------------------------


def sealed(pack: Pack) -> Iterator[str]:
    """Every entry carries the seal of its text, time and place and of the seal before it."""
    seals: Dict[str, str] = {}
    zero = datetime(1970, 1, 1, tzinfo=timezone.utc)
    for one in pack.entries:
        path, recorded = _at(one), one["recorded_us"]
        if path in seals:
            yield f"entries.jsonl: {path} stands there twice"
        seals[path] = one["seal"]
        previous, body = bytes.fromhex(one["previous"]), one["body"].encode("utf-8")
        found = seal_of(previous, one["site"], one["position"], recorded, body)
        if found.hex() != one["seal"]:
            yield f"entries.jsonl: the seal of {path} does not agree with its text, time or place"
        if _moment(one["recorded_at"]) != zero + timedelta(microseconds=recorded):
            yield f"entries.jsonl: {path} gives two times of writing that differ"
    for one in pack.entries:
        before = f"{one['site']}/{one['position'] - 1}"
        expected = "00" * 32 if one["position"] == 1 else seals.get(before, one["previous"])
        if one["previous"] != expected:
            yield f"entries.jsonl: {_at(one)} does not follow the entry before it"


def in_the_tree(pack: Pack) -> Iterator[str]:
    """Every entry, and the newest one, is a leaf of its site's tree."""
    for one in pack.entries:
        tree, path = pack.proofs["sites"].get(one["site"]), _at(one)
        hashes = tree["paths"].get(str(one["position"])) if tree else None
        if hashes is None:
            yield f"proofs.json: there is no proof for {path}"
        elif not _leads(tree, one["position"], one["seal"], hashes):
            yield f"proofs.json: the proof of {path} does not lead to the root of its site"
    for site, tree in pack.proofs["sites"].items():
        head = tree["head"]
        if head["position"] != tree["size"]:
            yield f"proofs.json: the tree of {site} does not end with its newest entry"
        if not _leads(tree, head["position"], head["seal"], head["path"]):
            yield f"proofs.json: the newest seal of {site} does not lead to its root"
        for position in tree["paths"]:
            if f"{site}/{position}" not in pack.bodies:
                yield f"entries.jsonl: {site}/{position} is missing, though its proof is here"


def _leads(tree: Json, position: int, seal: str, hashes: List[str]) -> bool:
    path = [bytes.fromhex(one) for one in hashes]
    found = root_by(bytes.fromhex(seal), position - 1, tree["size"], path)
    return found is not None and found.hex() == tree["root"]


def bears_out(pack: Pack) -> Iterator[str]:
    """Every use and every way in the answer stands in the entries, and they say the same."""
    for name, check in (("exposures", _exposure), ("already_open", _exposure), ("gaps", _use)):
        told, shown = pack.answer[name], pack.evidence[name]
        if len(told) != len(shown):
            yield f"answer.json and evidence.json differ in how many {name} there are"
        for number, (one, its) in enumerate(zip(told, shown), 1):
            try:
                check(pack, one, its, f"{name} {number}")
            except Broken as fault:
                yield str(fault)


def _exposure(pack: Pack, one: Json, its: Json, what: str) -> None:
    _use(pack, one, its, what)
    if len(one["sources"]) != len(its["sources"]) or not one["sources"]:
        raise Broken(f"{what}: answer.json and evidence.json differ in its sources")
    surest = []
    for source, way in zip(one["sources"], its["sources"]):
        _way(pack, its, way, source, what)
        if source["certainty"] == one["certainty"]:
            surest.append(way["path"])
    if one["path"] not in surest:
        raise Broken(f"{what}: its path is the way of none of its surest sources")


def _use(pack: Pack, one: Json, its: Json, what: str) -> None:
    """The entry tells a use of that thing on that patient at that time."""
    if pack.name(its["item"]) != one["item"]:
        raise Broken(f"{what}: {its['item']} is not called {one['item']}")
    body = _same_use(pack, its["entry"], one, what)
    if its["item"] not in _things(body) or its["use"] != body["use"]:
        raise Broken(f"{what}: entry {its['entry']} tells no such use of {one['item']}")


def _same_use(pack: Pack, entry: str, one: Json, what: str) -> Json:
    body = pack.body(entry, ("used",), what)
    if _moment(body["at"]) != _moment(one["used_at"]):
        raise Broken(f"{what}: entry {entry} tells a use at another time")
    patient, moved = body["patient"], pack.evidence["moved"].get(body["use"])
    if moved is not None:
        move = pack.body(moved, ("moved-to-patient",), what)
        if move["use"] != body["use"]:
            raise Broken(f"{what}: entry {moved} moves another use")
        patient = move["patient"]
    if patient != pack.token(one["patient"]):
        raise Broken(f"{what}: entry {entry} tells a use on another patient")
    return body


def _things(body: Json) -> Set[str]:
    return {body.get("item", ""), body.get("pack", ""), *body.get("covers", ())} - {""}


def _way(pack: Pack, its: Json, way: Json, source: Json, what: str) -> None:
    """From the use back to its source: each entry is about a thing that led to the next one."""
    path = way["path"]
    if not path or path[-1] != its["entry"]:
        raise Broken(f"{what}: a way does not end at its use")
    things = {its["item"]}
    for entry in reversed(path[1:-1]):
        body = pack.body(entry, (*_RAN, "stepped", "packed"), what)
        if not things & _things(body):
            raise Broken(f"{what}: entry {entry} is about none of the things on its way")
        if body["kind"] == "packed":
            things = _inside(pack, body.get("load", ""), f"{what}: entry {entry}")
    _source(pack, path[0], things, source, what)


_RAN = ("load-ended", "load-taken-over")


def _inside(pack: Pack, load: str, what: str) -> Set[str]:
    """What was in the load that a pack was made out of: any of it may be in the pack."""
    ran = [body for body in pack.bodies.values() if body.get("kind") in _RAN]
    inside = [_things(body) for body in ran if load and body.get("load") == load]
    if not inside:
        raise Broken(f"{what} is a pack out of a load that is not in entries.jsonl")
    return set().union(*inside)


def _source(pack: Pack, entry: str, things: Set[str], source: Json, what: str) -> None:
    """The way begins with the use on the source patient, or with coming from outside."""
    if source["patient"] is None:
        body = pack.body(entry, ("item-added", "arrived"), what)
        if _moment(body["at"]) != _moment(source["used_at"]):
            raise Broken(f"{what}: entry {entry} tells an arrival at another time")
    else:
        body = _same_use(pack, entry, source, what)
    if not things & _things(body):
        raise Broken(f"{what}: entry {entry} is about none of the things on its way")


def named(pack: Pack) -> Iterator[str]:
    """Things and loads are called so by an entry; the loads in doubt have their entries here."""
    for tag, one in pack.evidence["called"].items():
        body = pack.bodies.get(one["entry"], {})
        names = {body.get("tag"), body.get("old"), body.get("maker_code"), *body.get("aliases", ())}
        about = {body.get(key) for key in ("item", "pack", "load", "person")}
        if one["name"] not in names or tag not in about:
            yield f"evidence.json: no entry here says that {tag} is called {one['name']}"
    loads = pack.evidence["loads"]
    if sorted(pack.name(tag) for tag in loads) != pack.answer["loads_in_doubt"]:
        yield "answer.json and evidence.json differ in the loads in doubt"
    told = {body.get("load") for body in pack.bodies.values()}
    for tag in loads:
        if tag not in told:
            yield f"entries.jsonl: nothing is told of load {tag}"


def counted(pack: Pack) -> Iterator[str]:
    """The totals of the answer are those of its lists."""
    found = pack.answer["exposures"]
    if pack.answer["uses"] != len(found):
        yield "answer.json: it counts other uses than it lists"
    if pack.answer["patients"] != len({one["patient"] for one in found}):
        yield "answer.json: it counts other patients than it lists"


def tabled(pack: Pack) -> Iterator[str]:
    """The table says what the answer says."""
    if pack.files.get("exposures.csv") != csv_of(pack.answer):
        yield "exposures.csv: it does not say what answer.json says"


CHECKS: Tuple[Tuple[str, Callable[[Pack], Iterator[str]]], ...] = (
    ("every entry carries its seal", sealed),
    ("every entry is in the ledger's tree", in_the_tree),
    ("the entries say what the answer says", bears_out),
    ("names and loads stand in the entries", named),
    ("the totals are those of the lists", counted),
    ("the table agrees with the answer", tabled),
)


# --- reading, and saying how it went -------------------------------------------------------------


def whole(files: Files) -> Iterator[str]:
    """Every file is as the manifest lists it."""
    if MANIFEST not in files:
        yield f"{MANIFEST} is missing"
        return
    inside = {name: data for name, data in files.items() if name != MANIFEST}
    lines = files[MANIFEST].decode("utf-8", "replace").split("\n")[:-1]
    listed = {line[66:]: line[:64] for line in lines}
    for name in sorted({*listed, *inside, *LEAST}):
        if name not in inside:
            yield f"{name} is missing"
        elif name not in listed:
            yield f"{name} is not in the list of files"
        elif sha256(inside[name]).hexdigest() != listed[name]:
            yield f"{name} was changed"
    if files[MANIFEST] != manifest_of(inside):
        yield f"{MANIFEST} was changed, or a file that it lists"


def read_files(path: Path) -> Tuple[Files, List[str]]:
    """The files of a folder or a zip, and what is wrong with the zip itself."""
    if path.is_dir():
        found = (one for one in sorted(path.rglob("*")) if one.is_file())
        return {one.relative_to(path).as_posix(): one.read_bytes() for one in found}, []
    data = path.read_bytes()
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as pack:
            files = {one.filename: pack.read(one) for one in pack.infolist()}
        same = zip_of(files) == data
    except Exception as fault:  # a broken zip breaks in many ways, all of them one answer
        raise Broken(f"{path.name} cannot be read as a zip: {fault}") from None
    return files, [] if same else [f"{path.name} is not byte for byte as it was made"]


def results(files: Files, digest: str = "") -> Iterator[Tuple[str, List[str]]]:
    """Each check with what it found wrong."""
    yield "every file is as the list of files says", list(whole(files))
    if digest:
        found = sha256(files.get(MANIFEST, b"")).hexdigest()
        wrong = [] if found == digest.strip().lower() else [f"{MANIFEST} has the digest {found}"]
        yield "the list of files has the digest that the book gave", wrong
    try:
        pack = Pack(files)
    except Exception as fault:  # whatever it is, the pack is not as it was made
        yield "every file can be read", [_says(fault)]
        return
    for title, check in CHECKS:
        try:
            faults = list(check(pack))
        except Exception as fault:  # the same
            faults = [_says(fault)]
        yield title, faults


def _says(fault: Exception) -> str:
    if isinstance(fault, Broken):
        return str(fault)
    return f"a file is not made as it should be ({type(fault).__name__}: {fault})"


def main(words: List[str]) -> int:
    asked = argparse.ArgumentParser(prog="verify.py", description="Check a proof file offline.")
    asked.add_argument("path", nargs="?", default=str(Path(__file__).resolve().parent))
    asked.add_argument("--digest", default="", metavar="HEX", help="as the book showed it")
    given = asked.parse_args(words)
    try:
        files, faults = read_files(Path(given.path))
    except (Broken, OSError) as fault:
        print(f"WRONG  {fault}")
        return 1
    found = [("the zip is byte for byte as it was made", faults)] if faults else []
    bad = False
    for title, wrong in [*found, *results(files, given.digest)]:
        print(f"{'WRONG' if wrong else 'ok':6} {title}")
        for says in wrong:
            print(f"       - {says}")
        bad = bad or bool(wrong)
    if not given.digest:
        print("--     the digest that the book gave was not compared: give it with --digest")
    print("This proof file is NOT as it was made." if bad else "This proof file is as it was made.")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
