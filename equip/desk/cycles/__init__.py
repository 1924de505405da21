"""Logs read, matched and judged; judged again; drawn; put on paper.

Read `logs` (read, and matched to their load), `judging`, then `rejudging`. `layouts` describes a
machine's own log. `reasons` and `record_sheet` say what a judged load's page and paper say;
`picture` draws it. `reference_questions` asks before release, `charts` looks at figures over
time, `methods` says how each figure is worked out.
"""
