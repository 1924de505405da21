"""The tables that rebuild from the ledger, wing by wing; their columns only, never a query."""

from peewee import BigIntegerField, BlobField, CompositeKey, IntegerField, TextField

from equip.store.schema.kept import Table

# --- the logbook of each subject ------------------------------------------------------------


class About(Table):
    """Which entries name a subject, in order of happening."""

    subject = TextField()
    at = BigIntegerField()
    site = TextField()
    position = BigIntegerField()

    class Meta:
        table_name = "about"
        primary_key = CompositeKey("subject", "at", "site", "position")


# --- the register ---------------------------------------------------------------------------


class Site(Table):
    code = TextField(primary_key=True)
    name = TextField()
    zone = TextField()
    book = TextField()

    class Meta:
        table_name = "site"


class Itemtype(Table):
    code = TextField(primary_key=True)
    body = BlobField()

    class Meta:
        table_name = "itemtype"


class ProcedureRow(Table):
    """Kinds of procedure as the ledger tells them last."""

    code = TextField(primary_key=True)
    body = BlobField()

    class Meta:
        table_name = "procedure"


class Item(Table):
    tag = TextField(primary_key=True)
    site = TextField()
    type = TextField(index=True)
    name = TextField()
    serial = TextField()
    added = BigIntegerField()

    class Meta:
        table_name = "item"


class Alias(Table):
    text = TextField(primary_key=True)
    item = TextField(index=True)

    class Meta:
        table_name = "alias"


class Place(Table):
    tag = TextField(primary_key=True)
    name = TextField()
    sort = TextField()

    class Meta:
        table_name = "place"


class RuleOverride(Table):
    site = TextField()
    position = BigIntegerField()
    rule = TextField()
    value = TextField()
    reason = TextField()
    since = TextField()
    who = TextField()

    class Meta:
        table_name = "rule_override"
        primary_key = CompositeKey("site", "position")


class Revision(Table):
    name = TextField(primary_key=True)
    number = BigIntegerField()

    class Meta:
        table_name = "revision"


class StandingRow(Table):
    """Where each item stands: its facts folded so far."""

    item = TextField(primary_key=True)
    type = TextField(index=True)
    at = BigIntegerField(null=True)
    whereabouts = TextField()
    place = TextField()
    load = TextField(index=True)
    pack = TextField(index=True)
    held = IntegerField()
    state = BlobField()

    class Meta:
        table_name = "standing"


# --- people ---------------------------------------------------------------------------------


class Staff(Table):
    """People as the ledger tells them; their passwords are elsewhere."""

    tag = TextField(primary_key=True)
    name = TextField()
    role = TextField()
    rights = TextField()
    active = IntegerField()

    class Meta:
        table_name = "staff"


class CompetenceRow(Table):
    """What people were found competent for, and leave given where that had lapsed."""

    site = TextField()
    position = BigIntegerField()
    person = TextField(index=True)
    task = TextField()
    outcome = TextField()
    since = TextField()
    until = TextField(null=True)
    assessor = TextField()
    outside = TextField()
    evidence = TextField()
    file = TextField()
    who = TextField()

    class Meta:
        table_name = "competence"
        primary_key = CompositeKey("site", "position")


# --- who met whom ---------------------------------------------------------------------------


class Touch(Table):
    """What happened to an item that bears on who met whom, a row for each.

    *sort* is use, gate, outside (it came from elsewhere) or made (a pack, out of a load); *ref*
    the use, the load or the entry. Of a use: *what* (used, opened), on whom, the gate before it or
    *why_not*, whether it is a gap. Of a gate: the hazards it stops as bits, with every step ahead
    recorded (*whole*) and without (*short*), its *state* and how many cases *doubt* it; of untagged
    *contents* how many a pack held; the loads it *rests* on (`rules/lookback/hazards.rests_on`).
    """

    item = TextField()
    sort = TextField()
    ref = TextField(index=True)
    at = BigIntegerField()
    site = TextField()
    position = BigIntegerField()
    what = TextField()
    patient = TextField(index=True)
    gate = TextField(index=True)
    why_not = TextField()
    whole = IntegerField()
    short = IntegerField()
    state = TextField()
    contents = IntegerField()
    doubt = IntegerField()
    rests = TextField()
    gap = IntegerField()

    class Meta:
        table_name = "touch"
        primary_key = CompositeKey("item", "sort", "ref")
        indexes = ((("item", "at"), False), (("gap", "at"), False))


class ExposureRow(Table):
    """A use on somebody after somebody else was carried; *open* until a look-back decided it."""

    item = TextField()
    ref = TextField()
    at = BigIntegerField()
    patient = TextField(index=True)
    site = TextField()
    position = BigIntegerField()
    certainty = IntegerField()
    sources = IntegerField()
    open = IntegerField()
    whole = TextField()

    class Meta:
        table_name = "exposure"
        primary_key = CompositeKey("item", "ref")
        indexes = ((("item", "at"), False), (("open", "at"), False))


class InDoubt(Table):
    """A gate that a case takes for nothing: a whole load, or what it was to one item."""

    case_id = TextField()
    item = TextField()
    ref = TextField(index=True)

    class Meta:
        table_name = "in_doubt"
        primary_key = CompositeKey("case_id", "item", "ref")


class Decided(Table):
    """A source of a use that a look-back has decided about."""

    item = TextField()
    ref = TextField()
    source = TextField()
    case_id = TextField()

    class Meta:
        table_name = "decided"
        primary_key = CompositeKey("item", "ref", "source")


class Tally(Table):
    """How many uses, gaps, exposures and open ones there are; no row means none."""

    name = TextField(primary_key=True)
    number = BigIntegerField()

    class Meta:
        table_name = "tally"


# --- the past -------------------------------------------------------------------------------


class OldName(Table):
    """What a load or a person was called in the time before this book."""

    sort = TextField()
    text = TextField()
    tag = TextField(index=True)

    class Meta:
        table_name = "old_name"
        primary_key = CompositeKey("sort", "text")


class Past(Table):
    """A file of the past as far as it was brought in."""

    digest = TextField(primary_key=True)
    name = TextField()
    line = IntegerField()
    rows_in = IntegerField()

    class Meta:
        table_name = "past"


# --- the bench ------------------------------------------------------------------------------


class WithdrawnAct(Table):
    """Acts that were taken back."""

    act = TextField(primary_key=True)

    class Meta:
        table_name = "withdrawn"


class CheckedRow(Table):
    """A check ahead of a session; *sort* "" ends those of *item* before it."""

    item = TextField()
    sort = TextField()
    at = BigIntegerField()
    site = TextField()
    position = BigIntegerField()
    passed = IntegerField()
    value = TextField()
    unit = TextField()
    says = TextField()
    who = TextField()
    act = TextField()

    class Meta:
        table_name = "checked"
        primary_key = CompositeKey("site", "position", "item")
        indexes = ((("item", "at"), False), (("at",), False))


class UseRow(Table):
    id = TextField(primary_key=True)
    site = TextField()
    patient = TextField(index=True)
    at = BigIntegerField(index=True)
    finished = BigIntegerField(null=True)
    who = TextField()
    place = TextField()
    ear = TextField()
    soil = TextField()

    class Meta:
        table_name = "use"


# --- upkeep ---------------------------------------------------------------------------------


class DutyRow(Table):
    """What an item has to have done, and how far it has come.

    *goes_by* are all its terms, *so_far* what the item did since it was last met: whole, as the
    rules have them. Beside them what is sorted and looked for: *next_due* by the calendar alone,
    *early* the first moment that may bring it ahead of that, *watches* whether anything may.
    """

    item = TextField()
    duty = TextField()
    goes_by = BlobField()
    so_far = BlobField()
    last_met = TextField(null=True)
    done = TextField(null=True)
    next_due = TextField(index=True)
    of_type = IntegerField()
    since = BigIntegerField()
    watches = IntegerField()
    early = BigIntegerField(null=True, index=True)

    class Meta:
        table_name = "duty"
        primary_key = CompositeKey("item", "duty")


class DutyReminderRow(Table):
    """How early and how late somebody is told of one duty, where it is not the rule."""

    item = TextField()
    duty = TextField()
    lead_days = IntegerField(null=True)
    escalate_days = IntegerField(null=True)

    class Meta:
        table_name = "duty_reminder"
        primary_key = CompositeKey("item", "duty")


class TypeDutyRow(Table):
    """The duty that each thing of a type has, as it was told last."""

    type = TextField()
    duty = TextField()
    body = BlobField()

    class Meta:
        table_name = "type_duty"
        primary_key = CompositeKey("type", "duty")


class Worked(Table):
    """What brings duties on: uses, cycles, hours in tenths, moves; how many at a moment."""

    item = TextField()
    sort = TextField()
    at = BigIntegerField()
    n = IntegerField()

    class Meta:
        table_name = "worked"
        primary_key = CompositeKey("item", "sort", "at")
        indexes = ((("sort", "at"), False),)


class WorkRow(Table):
    """Pieces of work, to list them; what each comes to is told by its entries."""

    id = TextField(primary_key=True)
    item = TextField(index=True)
    raised = BigIntegerField()
    closed = BigIntegerField(null=True, index=True)

    class Meta:
        table_name = "work"


# --- look-backs -----------------------------------------------------------------------------


class Doubt(Table):
    case_id = TextField(primary_key=True)
    raised = BigIntegerField()
    loads = TextField()
    why = TextField()
    who = TextField()
    decided = BigIntegerField(null=True)
    decision = TextField(null=True)
    reason = TextField(null=True)
    unfounded = IntegerField()
    evidence = TextField()
    about = TextField()
    listed = BigIntegerField(null=True)
    closed = BigIntegerField(null=True)
    held = TextField()
    patient = TextField()
    since = BigIntegerField(null=True)
    until = BigIntegerField(null=True)
    hazard = TextField()

    class Meta:
        table_name = "doubt"


class Drill(Table):
    """Where the drills stand in the ledger."""

    site = TextField()
    position = BigIntegerField()
    at = BigIntegerField(index=True)

    class Meta:
        table_name = "drill"
        primary_key = CompositeKey("site", "position")


class Rehearsal(Table):
    """Where the rehearsal of each night stands in the ledger."""

    site = TextField()
    day = TextField()
    position = BigIntegerField()

    class Meta:
        table_name = "rehearsal"
        primary_key = CompositeKey("site", "day")


# --- machines and lots ----------------------------------------------------------------------


class MachineTest(Table):
    machine = TextField()
    test = TextField()
    at = BigIntegerField()
    site = TextField()
    position = BigIntegerField()
    verdict = TextField()
    who = TextField()
    cycle_no = TextField()

    class Meta:
        table_name = "machine_test"
        primary_key = CompositeKey("site", "position")
        indexes = ((("machine", "test", "at"), False),)


class Sheet(Table):
    machine = TextField()
    day = TextField()
    who = TextField()

    class Meta:
        table_name = "sheet"
        primary_key = CompositeKey("machine", "day")


class SporeTest(Table):
    """A spore test of a machine, in a load or in a cycle of its own; *result* is "" until read."""

    id = TextField(primary_key=True)
    machine = TextField()
    load = TextField()
    lot = TextField()
    put = BigIntegerField()
    ran = BigIntegerField(null=True)
    read = BigIntegerField(null=True)
    result = TextField(index=True)

    class Meta:
        table_name = "spore_test"
        indexes = ((("machine", "ran"), False), (("load",), False))


class LotRow(Table):
    """A lot as it came in (*body* is that fact), since when it is open, why it serves no more."""

    tag = TextField(primary_key=True)
    sort = TextField()
    name = TextField()
    number = TextField()
    body = BlobField()
    opened = BigIntegerField(null=True)
    finished = TextField(default="")

    class Meta:
        table_name = "lot"


class FillingRow(Table):
    """A soak bath filled anew; *act* tells whether that was taken back."""

    machine = TextField()
    at = BigIntegerField()
    site = TextField()
    position = BigIntegerField()
    lot = TextField()
    who = TextField()
    note = TextField()
    act = TextField()

    class Meta:
        table_name = "filling"
        primary_key = CompositeKey("site", "position")
        indexes = ((("machine", "at"), False),)


# --- loads and logs -------------------------------------------------------------------------


class LoadRow(Table):
    tag = TextField(primary_key=True)
    machine = TextField()
    cycle_no = TextField()
    at = BigIntegerField(null=True)
    stage = TextField(index=True)
    verdict = TextField()
    state = BlobField()

    class Meta:
        table_name = "load"
        indexes = ((("machine", "at"), False),)


class LoneRelease(Table):
    """A load that one person released alone and nobody else has looked at since."""

    load = TextField(primary_key=True)

    class Meta:
        table_name = "lone_release"


class LoadLog(Table):
    """Which log a load was judged by: one log, one load."""

    load = TextField(primary_key=True)
    log = TextField(index=True)

    class Meta:
        table_name = "load_log"


class LogLayoutRow(Table):
    """How a machine was said to write its log, each time it was said; the newest holds."""

    site = TextField()
    position = BigIntegerField()
    machine = TextField()
    at = BigIntegerField()
    layout = TextField()
    reason = TextField()
    who = TextField()

    class Meta:
        table_name = "log_layout"
        primary_key = CompositeKey("site", "position")
        indexes = ((("machine", "at"), False),)


class StrayLog(Table):
    """Logs that belonged to no load when they came in."""

    log = TextField(primary_key=True)
    machine = TextField(index=True)
    name = TextField()
    cycle_no = TextField()
    why = TextField()
    layout = TextField()
    at = BigIntegerField()
    explained = TextField()

    class Meta:
        table_name = "stray_log"


# --- tags -----------------------------------------------------------------------------------


class Counter(Table):
    """The last number given out for each letter of tag; it only rises."""

    letter = TextField(primary_key=True)
    last = BigIntegerField()

    class Meta:
        table_name = "counter"


REBUILT = (
    About,
    Site,
    Itemtype,
    ProcedureRow,
    Item,
    Alias,
    Place,
    Staff,
    CompetenceRow,
    RuleOverride,
    Revision,
    StandingRow,
    LoadRow,
    LoneRelease,
    Touch,
    ExposureRow,
    InDoubt,
    Decided,
    OldName,
    Past,
    Tally,
    UseRow,
    DutyRow,
    DutyReminderRow,
    TypeDutyRow,
    Worked,
    WorkRow,
    Doubt,
    Drill,
    Rehearsal,
    MachineTest,
    CheckedRow,
    Sheet,
    LotRow,
    LogLayoutRow,
    LoadLog,
    StrayLog,
    SporeTest,
    FillingRow,
    WithdrawnAct,
)
"""Thrown away and folded again by `rebuild`; the counter of tags is not among them."""
