"""Logs read, matched and judged; judged again; drawn; put on paper.

Read `logs`, `judging`, `rejudging`; `layouts` describes a machine's own log; `picture` draws.
"""
