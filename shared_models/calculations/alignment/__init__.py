"""Alignment: where the line passes the knee, how sure that is, and what moves it.

Signs as in docs/frames.md: forward, up and towards the midline are plus; an
offset is plus when the line passes in front of the knee centre.
"""
