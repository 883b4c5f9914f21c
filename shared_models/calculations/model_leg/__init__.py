"""A leg to rehearse on: a physical model of swing, stance and descent.

`people` draws model people with model knees from a seed; they walk the trials
of a fitting and answer with graded findings.  It stands in for a person in
rehearsals and measurements of the guidance; it is no model of anybody.
"""
