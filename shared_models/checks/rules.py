"""All rules, by name: importing this module lists every rule in the rulebook."""

from __future__ import annotations

from shared_models.checks import (
    changed_since,
    rules_alignment,
    rules_closing,
    rules_components,
    rules_locking,
    rules_part_codes,
    rules_timing,
    rules_torque,
    rules_visit,
    rules_walking,
)
from shared_models.checks.rulebook import RULES

#: One module a subject; each offers its rules to the rulebook as it is imported.
SUBJECTS = (
    rules_components, rules_alignment, rules_walking, rules_torque, rules_locking, rules_timing,
    rules_part_codes, rules_closing, rules_visit, changed_since,
)

__all__ = ["RULES", "SUBJECTS"]
