"""Words of the practice mode: its mark, its refusals, and what the practice leg answers."""

from __future__ import annotations

#: The mark on every page and paper of practice.
MARK = "PRACTICE"
BAND = "PRACTICE · nobody is being fitted"
CLINIC_NAME = "Practice clinic (invented)"
WINDOW_TITLE = "PRACTICE · Stancebook · nobody is being fitted"
NEVER_SENT = "never sent"
LEAVE = "Leave practice"
ENTER = "Practise"
ENTER_WHY = "a whole fitting on an invented person; nothing of it is ever sent"

#: Why practice and care are kept apart.
REFUSALS = {
    "practice_never_sent": "This is practice: nobody is being fitted, and nothing of it is ever sent. Leave practice to send what was recorded of people.",
    "practice_never_joins": "This is a practice store, and practice joins no clinic. Leave practice, then join on the tablet itself.",
    "practice_holds_real_record": "The folder of practice holds a record that is no practice. It was left as it was; move it to where it belongs, then practise.",
    "practice_clinic_only": "A practice store takes a practice clinic only, and a clinic of people is never called so. Nothing was recorded.",
}
