"""Mutates what decides and asks the tests: which change of a rule would nobody notice?

Run by hand, never in CI: it takes minutes a module. From the repository's root:
`python -m tests.measure.mutants equip/rules/fitness/gates.py equip/store/fold/contacts.py
--most 40 --seed 1`. Each mutant is one small change of one module in a copy of the house; the tests
of its wing run until one fails. A survivor is printed with its line: it wants a test, or it changes
nothing that anybody can see. A mutant whose tests do not end is neither killed nor alive: it is
counted by itself.
"""

import argparse
import ast
import copy
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from random import Random
from typing import Literal

ROOT = Path(__file__).resolve().parents[2]
_LONGEST_S = 900
_TURNED: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
}


@dataclass(frozen=True, slots=True)
class Mutant:
    """One change: where it stands and what it does, and the module as it would be."""

    module: str
    line: int
    what: str
    source: str


def mutants_of(module: str, source: str) -> list[Mutant]:
    """Every small change of *source* that this script knows."""
    tree = ast.parse(source)
    found = []
    for number, node in enumerate(ast.walk(tree)):
        for what, change in _changes(node):
            other = copy.deepcopy(tree)
            twin = next(one for turn, one in enumerate(ast.walk(other)) if turn == number)
            change(twin)
            mutated = ast.unparse(ast.fix_missing_locations(other))
            found.append(Mutant(module, _line(node), what, mutated))
    return found


def _line(node: ast.AST) -> int:
    """Where it stands; a filter of a comprehension stands where what it fills does."""
    return getattr(node, "lineno", None) or getattr(getattr(node, "target", None), "lineno", 0)


Change = Callable[[ast.AST], None]


def _changes(node: ast.AST) -> Iterator[tuple[str, Change]]:
    match node:
        case ast.Compare(ops=[only]) if type(only) in _TURNED:
            turned = _TURNED[type(only)]
            yield f"{type(only).__name__} becomes {turned.__name__}", _set("ops", [turned()])
        case ast.BoolOp(op=ast.And()):
            yield "and becomes or", _set("op", ast.Or())
        case ast.BoolOp(op=ast.Or()):
            yield "or becomes and", _set("op", ast.And())
        case ast.UnaryOp(op=ast.Not()):
            yield "not is left out", _not_left_out
        case ast.Constant(value=bool(value)):
            yield f"{value} becomes {not value}", _set("value", not value)
        case ast.Constant(value=int(value)):
            yield f"{value} becomes {value + 1}", _set("value", value + 1)
        case ast.If() | ast.IfExp():
            yield "never so", _set("test", ast.Constant(False))
            yield "always so", _set("test", ast.Constant(True))
        case ast.comprehension(ifs=[_, *_]):
            yield "takes all of them", _set("ifs", [])
        case ast.Return(value=ast.Name() | ast.Call() | ast.ListComp()):
            yield "returns nothing", _set("value", ast.Constant(None))
        case ast.Expr(value=ast.Call()):
            yield "is not done", _set("value", ast.Constant(None))
        case _:
            return


def _set(name: str, value: object) -> Change:
    return lambda node: setattr(node, name, value)


def _not_left_out(node: ast.AST) -> None:
    assert isinstance(node, ast.UnaryOp)
    node.op, node.operand = ast.Not(), ast.UnaryOp(ast.Not(), node.operand)


def tests_for(module: str, *, far: bool = False) -> list[list[str]]:
    """The tests that may notice, in stages, the nearest first; each stage is a list of paths.

    *far* adds all of the desk and of the pages, which take minutes for each that lives so far.
    """
    parts = Path(module).with_suffix("").parts[1:]
    near = [Path("tests", *parts[:2]), Path("tests", "desk", parts[1]), Path("tests", parts[0])]
    stages = [[str(one)] for one in dict.fromkeys(near) if (ROOT / one).is_dir()]
    beside = ["tests/desk/bench", "tests/desk/lookback", "tests/desk/loads", "tests/desk/register"]
    return [*stages, beside, *([["tests/desk"], ["tests/web"]] if far else [])]


Fate = Literal["killed", "lived", "did not end"]


def fate_of(mutant: Mutant, house: Path, *, far: bool = False) -> Fate:
    """What the tests of every stage do to *mutant* in the copy at *house*."""
    target = house / mutant.module
    before = target.read_text("utf-8")
    target.write_text(mutant.source, "utf-8")
    try:
        fates = (_fate_in(stage, house) for stage in tests_for(mutant.module, far=far))
        return next((one for one in fates if one != "lived"), "lived")
    finally:
        target.write_text(before, "utf-8")


def _fate_in(paths: Sequence[str], house: Path) -> Fate:
    asked = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", "-n", "2"]
    try:
        ran = subprocess.run(
            [*asked, *paths], cwd=house, capture_output=True, timeout=_LONGEST_S, check=False
        )
    except subprocess.TimeoutExpired:
        return "did not end"
    return "lived" if ran.returncode == 0 else "killed"


def house_copied(to: Path) -> Path:
    """The tracked files of the house, where mutants may live."""
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, check=True)
    for name in listed.stdout.decode().splitlines():
        target = to / name
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(ROOT / name, target)
    return to


def chosen(modules: Iterable[str], most: int, seed: int) -> list[Mutant]:
    """Up to *most* mutants of all *modules*, by chance that *seed* repeats."""
    every = [one for name in modules for one in mutants_of(name, (ROOT / name).read_text("utf-8"))]
    return Random(seed).sample(every, min(most, len(every)))


def main(told: Sequence[str] | None = None) -> int:
    asking = argparse.ArgumentParser(prog="python -m tests.measure.mutants", description=__doc__)
    asking.add_argument("modules", nargs="+")
    asking.add_argument("--most", type=int, default=40)
    asking.add_argument("--seed", type=int, default=1)
    asking.add_argument("--far", action="store_true", help="ask all tests of desk and pages too")
    asked = asking.parse_args(told)
    fates: Counter[Fate] = Counter()
    with tempfile.TemporaryDirectory() as folder:
        house = house_copied(Path(folder))
        for mutant in chosen(asked.modules, asked.most, asked.seed):
            fate = fate_of(mutant, house, far=asked.far)
            fates[fate] += 1
            if fate != "killed":
                print(f"{fate}: {mutant.module}:{mutant.line} {mutant.what}", flush=True)
            if not fates.total() % 10:
                print(_so_far(fates), flush=True)
    print(_so_far(fates))
    return 0


def _so_far(fates: Counter[Fate]) -> str:
    return f"{fates['killed']} of {fates.total()} killed, {fates['did not end']} did not end"


if __name__ == "__main__":
    raise SystemExit(main())
