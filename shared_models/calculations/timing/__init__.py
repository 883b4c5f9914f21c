"""Timing: from foot contacts to figures of walking, stairs and timed tests.

Plain functions over plain data; every figure carries what it was measured
with, what counted as a contact, and its formula.  docs/calculations/timing.md
states each key and formula.
"""
