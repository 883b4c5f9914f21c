"""Words of a visit after the first: drift, service, events, exchange of parts."""

from __future__ import annotations

from shared_models.language import Phrases

REMARKS = Phrases({
    "nothing_touched": "Nothing here was touched at this visit.",
    "setting_drifted": "{name}: found at {found} {unit}, left at {left} last time. Ask who turned it, and decide where it stands.",
    "alignment_drifted": "{name}: found at {found} mm, left at {left} mm last time, {off} mm apart (up to {tolerance} mm is tolerated). Look for what gave way before anything is corrected.",
    "screw_worked_loose": "{screw}: turned at {reading} N·m, the sheet takes {lowest} to {highest} N·m (left at {left} N·m). Clean it, renew its locking and tighten it again.",
    "screw_checked_too_high": "{screw}: checked at {reading} N·m, above the {highest} N·m of the sheet. Look at screw and thread, and tighten it anew.",
    "part_differs": "Parts compared, with a difference: {differs}. Exchange the part, or correct the record.",
    "difference_not_said": "Something differs or is damaged. Say what.",
    "falls_not_recorded": "Falls said: {said}, recorded: {recorded}. Record each fall with 'Record a fall, pain or fault'.",
    "mass_changed": "Body mass {now} kg, {before} kg last time: more than {most} kg apart. Look at the socket, at the mass limits and at the stance threshold again.",
    "service_overdue": "{component}: its service was due on {due} (by {decided_words}). Follow the maker's instructions.",
    "event_open": "Still open: {event_words} on {date}. Follow it up, or close it.",
    "serious_event_open": "Still open: {event_words} on {date}, with harm that needed care, and the knee may have been part of it. Suggested: the knee is not worn until somebody has looked at it, and the maker is told as your local rules say. Follow it up, and close it when that is done.",
    "other_part_taken_out": "The part taken out is marked {said}, this record has {known} there. Read the marking again, or correct the record.",
    "nothing_built_in": "{part}: a part came out and none went in yet.",
})
#: Figures of the standing as found, by the name that a remark keeps.
LINES = Phrases({"Load line": "Load line", "Height": "Height"})
DECIDED = Phrases({"months": "the calendar", "steps": "the steps walked"})
