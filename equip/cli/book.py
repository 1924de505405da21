"""Commands that read the book: a logbook, the record of a cycle, what falls due."""

from pathlib import Path

from equip.cli.call import DONE, Add, Call, Unreadable, a_day, a_whole, show


def offer(add: Add) -> None:
    """The commands of this module, with their options."""
    past = add("history", history, "the logbook of a patient, an item, a load or a person")
    subject = past.add_mutually_exclusive_group(required=True)
    for name in ("patient", "item", "load", "person"):
        subject.add_argument(f"--{name}")
    paper = add("record", record, "the cycle record of a load as PDF")
    paper.add_argument("load", metavar="LOAD")
    paper.add_argument("--out", required=True, metavar="FILE.pdf")
    falls = add("due", due, "what falls due, overdue first")
    falls.add_argument("--on", type=a_day)
    falls.add_argument("--within", type=a_whole, metavar="DAYS")


def history(call: Call) -> int:
    from equip.desk.lookback import history
    from equip.installation import open_installation

    asked = call.asked
    with open_installation(call.settings, call.clock) as installation:
        subject = history.find(
            installation.clinic, asked.patient or asked.item or asked.load or asked.person
        )
        page = history.page(installation.clinic, subject)
        zone = installation.clinic.house.zone
    if asked.json:
        show(
            {
                "subject": page.subject,
                "title": page.title,
                "lines": [
                    {
                        "at": line.at.isoformat(),
                        "recorded_at": line.recorded_at.isoformat(),
                        "path": line.path,
                        "kind": line.kind,
                        "says": line.text,
                        "who": line.who,
                        "withdrawn": line.withdrawn,
                        "moved_to": line.moved.to or None,
                        "moved_from": line.moved.out_of or None,
                    }
                    for line in page.lines
                ],
                "uses": len(page.touches),
                "gaps": [
                    {
                        "item": t.item,
                        "patient": t.patient,
                        "used_at": t.at.isoformat(),
                        "says": t.gap,
                    }
                    for t in page.touches
                    if t.gap
                ],
            }
        )
        return DONE
    print(page.title)
    for says in page.says:
        print(says)
    marks = {"gate": "=", "doubt": "!", "no": "-"}
    for line in page.lines:
        mark = "~" if line.withdrawn else marks.get(line.margin, " ")
        when = f"{line.at.astimezone(zone):%Y-%m-%d %H:%M}"
        moved = f" (moved to patient {line.moved.to})" if line.moved.to else ""
        moved += f" (moved from patient {line.moved.out_of})" if line.moved.out_of else ""
        print(f"{mark} {when}  {line.text}{moved}  [{line.path}] {line.who}")
    return DONE


def record(call: Call) -> int:
    from equip.desk.cycles.record_sheet import load_named, record_pdf
    from equip.installation import open_installation

    path = Path(call.asked.out)
    with open_installation(call.settings, call.clock) as installation:
        load = load_named(installation.clinic, call.asked.load)
        data = record_pdf(installation.clinic, load, call.clock())
    try:
        path.write_bytes(data)
    except OSError as fault:
        raise Unreadable(f"{path} cannot be written ({fault.strerror}): name another.") from None
    if call.asked.json:
        show({"load": load.load, "verdict": load.verdict, "file": str(path), "bytes": len(data)})
    else:
        print(f"The cycle record of load {load.load} is in {path}.")
    return DONE


def due(call: Call) -> int:
    from equip.desk.upkeep.due_json import answered
    from equip.desk.upkeep.duties import due, may_override
    from equip.installation import open_installation

    with open_installation(call.settings, call.clock) as installation:
        on = call.asked.on or installation.clinic.house.today(call.clock())
        found = due(installation.clinic, on, call.asked.within, expect=True)
        names = may_override(installation.clinic)
    if call.asked.json:
        show({"on": on.isoformat(), "due": [answered(d, names) for d in found]})
    else:
        for d in found:
            day = d.next_due.isoformat() if d.has_day else "by count  "
            print(f"{day}  {d.standing:8}{d.duty}: {d.label}")
    return DONE
