"""The questions of exposure on the command line, and the past brought in: what they print."""

from pathlib import Path

from equip.cli import traced
from equip.cli.call import DONE, UNREADABLE, Add, Call, show
from equip.rules.wording import counted


def offer(add: Add) -> None:
    """The commands of this module, with their options."""
    asks = "who may have been exposed by a load, a person, a patient …"
    traced.look_back_options(add("lookback", look_back, asks))
    given = add("proof", proof, "the answer of lookback as a file that anybody can check offline")
    traced.look_back_options(given)
    given.add_argument("--out", required=True, metavar="FILE.zip")
    asks = "uses exposed on present knowledge that nobody has decided"
    add("exposed-now", exposed_now, asks)


def import_past(call: Call) -> int:
    summary, faults = traced.import_past(call.settings, call.clock, Path(call.asked.file))
    refused = f"{counted(len(faults), 'fault')}: nothing was taken in."
    if call.asked.json:
        if faults:
            show({"error": refused, "faults": faults})
        else:
            show(summary)
    elif faults:
        for fault in faults:
            print(f"Line {fault['line']}: {fault['says']}")
        print(refused)
    else:
        print(
            f"Taken in: {summary['added']} of {counted(summary['rows'], 'line')}, "
            f"{summary['already']} were here already. New: {counted(summary['items'], 'thing')}, "
            f"{counted(summary['loads'], 'load')}."
        )
        print(
            "By what they say, uses that follow another patient with nothing between that cleared "
            f"the thing: {summary['exposed']}; uses with nothing known before them: "
            f"{summary['gaps']}. A load that no line names counts as none."
        )
    return UNREADABLE if faults else DONE


def look_back(call: Call) -> int:
    answer = traced.look_back(call.settings, call.clock, call.asked)
    if call.asked.json:
        show(answer)
        return DONE
    for one in answer["exposures"]:
        whom = ", ".join(f"{s['patient'] or 'outside'} {s['used_at']}" for s in one["sources"])
        print(
            f"{one['used_at']}  {one['item']} on {one['patient']}: {one['certainty']}, after {whom}"
        )
    print(
        f"{counted(answer['patients'], 'patient')} in {counted(answer['uses'], 'use')}. Open "
        f"without this doubt: {counted(len(answer['already_open']), 'use')}. Of those looked at, "
        f"with nothing known before: {counted(len(answer['gaps']), 'use')}."
    )
    return DONE


def proof(call: Call) -> int:
    answer = traced.proof(call.settings, call.clock, call.asked)
    if call.asked.json:
        show(answer)
    else:
        print(
            f"{counted(answer['patients'], 'patient')} in {counted(answer['uses'], 'use')}. "
            f"The proof file is in {answer['file']}. Keep its digest apart from it:\n"
            f"{answer['digest']}"
        )
    return DONE


def exposed_now(call: Call) -> int:
    answer = traced.exposed_now(call.settings, call.clock)
    if call.asked.json:
        show(answer)
    else:
        share = answer["traceable"]
        uses = counted(answer["uses"], "use")
        known = "No use yet" if share is None else f"Traceable: {share:.1%} of {uses}"
        print(f"Exposed now: {answer['exposed']}. Ever: {answer['exposed_ever']}. {known}.")
    return DONE
