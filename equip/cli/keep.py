"""Commands that keep the book: serve it, let the first manager in, fill, prove and fold it."""

import sys
from pathlib import Path

from equip.cli.call import DONE, FAIL, UNREADABLE, Add, Call, Unreadable, show
from equip.rules.wording import counted


def offer(add: Add) -> None:
    """The commands of this module, with their options."""
    add("serve", serve, "serve the clinic's book to browsers and scanners")
    life = add("demo", demo, "serve an invented clinic with 120 days of life in it")
    life.add_argument("--fresh", action="store_true", help="make its book anew")
    asks = "add a practice manager; the password is read from stdin"
    add("manager", first_manager, asks).add_argument("name")
    proof = add("verify", verify, "prove that nothing in the ledger was altered")
    proof.add_argument("--chain", action="store_true", help="the seals alone")
    add("rebuild", rebuild, "fold every table again from the ledger")


def serve(call: Call) -> int:
    from equip.installation import open_installation, serve

    with open_installation(call.settings, call.clock) as installation:
        return serve(installation)


def demo(call: Call) -> int:
    from equip.demo.serve import demo

    return demo(call.environ, call.clock, rebuild=call.asked.fresh)


def first_manager(call: Call) -> int:
    from equip.installation import add_manager, open_installation

    with open_installation(call.settings, call.clock) as installation:
        tag = add_manager(installation, call.asked.name, sys.stdin.readline().rstrip("\n"))
    print(f"{call.asked.name} signs in by name or by badge {tag}.")
    return DONE


def import_register(call: Call) -> int:
    from equip.installation import import_register, open_installation

    path = Path(call.asked.file)
    if not path.is_file():
        raise Unreadable(f"There is no file {path}.")
    with open_installation(call.settings, call.clock) as installation:
        found, taken = import_register(installation, path.read_bytes(), partial=call.asked.partial)
    if call.asked.json:
        faults = [{"line": p.line, "says": p.says} for p in found.problems]
        show({"taken": taken, "faults": faults})
    else:
        for problem in found.problems:
            print(f"Line {problem.line}: {problem.says}")
        things, faulty = counted(len(taken), "thing"), counted(len(found.problems), "fault")
        print(f"{things} added to the register; {faulty}.")
    return UNREADABLE if found.problems and not call.asked.partial else DONE


def verify(call: Call) -> int:
    from equip.installation import open_installation, proof_of

    with open_installation(call.settings, call.clock, guarded=False) as installation:
        proof = proof_of(installation, chain_only=call.asked.chain)
    fault = proof.fault
    if call.asked.json:
        show(
            {
                "verdict": "pass" if proof.whole else "fail",
                "entries": proof.entries,
                "heads": proof.heads,
                "fault": None
                if fault is None
                else {"site": fault.site, "position": fault.position, "says": fault.says},
                "unguarded": list(proof.unguarded),
                "projections": list(proof.projections),
            }
        )
    else:
        if fault is not None:
            print(f"Broken at {fault.site}/{fault.position}: {fault.says}")
        for says in (*proof.unguarded, *proof.projections):
            print(says)
        if proof.whole:
            what = "every seal agrees" if call.asked.chain else "every seal and every table agrees"
            print(f"{proof.entries} entries: {what}.")
    return DONE if proof.whole else FAIL


def rebuild(call: Call) -> int:
    from equip.installation import open_installation
    from equip.store.fold.rebuild import rebuild

    with open_installation(call.settings, call.clock) as installation:
        print(f"{rebuild(installation.clinic.store)} entries folded again.")
    return DONE
