"""May this item be used now? Every reason against it.

Read `standing` (one item's facts folded), `gates` (the last effective decontamination and what
it lacks; `day_gate` for one that the patients of a day share), then `why_not` (every reason, and
who may override it). The rest answers one question each: how long it keeps (`shelf`), which
machine goes with it (`served_by`), the checks before a session (`session`), which cycle suits it
(`suiting`), the chemistry (`agents`, `bath`, `lots`), how long soil may wait and an item has to
stay wet (`clocks`), which count of a set lacks and what is missing of it (`counting`, over
`contents`), what a statement of decontamination may say (`statement`).
"""
