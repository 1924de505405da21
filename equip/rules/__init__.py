"""Pure rules: values in, values out. No clock, no database, no screen.

Read `verdict` (reasons and the worst of them), then a wing: `fitness` (may this item be used?),
`cycles` (did this cycle do its work?), `loads`, `machines`, `lookback` (who may have been
exposed?), `upkeep`, `people`, `bench`, `planning`. `logbook` puts facts in words; `wording` and
`days` serve them all.
"""
