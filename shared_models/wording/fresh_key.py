"""What is said where a lead clinician seals a tablet's record under a fresh key."""

from __future__ import annotations

from shared_models.language import PhraseRow, phrase

TITLE = phrase("A fresh key for this record")
WHY = phrase("When somebody who is not to read it may have opened this tablet, or has left the clinic. What they copied before stays readable to them.")
WHAT_FOLLOWS = PhraseRow((
    "Everything on this tablet is sealed again. That takes a while where there are many photos, and nothing can be recorded meanwhile.",
    "You keep your PIN. Everybody else is locked out here until you give them a new PIN; what they signed before stays signed.",
    "Recovery codes made before open nothing any more. Make new ones.",
))
GOING_ON = phrase("Sealing everything again ...")
DONE = phrase("Sealed under a fresh key. Unlock, then give the others their new PINs.")
DONE_NOT_CLEAN = phrase("Sealed under a fresh key, but there was no room to write the file anew: what was sealed before may still lie in its empty parts. Free some space and do it once more.")
