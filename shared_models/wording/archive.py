"""What is said of a clinic's archive that can't be written, or is not what it says."""

from __future__ import annotations

from shared_models.language import Phrases

REFUSALS = Phrases({
    "archive_there": "{file} is there already. Name a file that is not; an older archive is never written over.",
    "archive_not_written": "{file} can't be written to its end. Check room and rights; nothing was left half written.",
    "archive_photo_damaged": "No archive was written: the bytes of {file} beside the store are missing or damaged. Put them back from a backup, or let the tablet send the photo again.",
    "archive_not_readable": "{file} is not there, is no zip or is cut short. Nothing was taken; take another copy of the archive.",
    "archive_of_newer_form": "The archive was made by a newer Stancebook. Bring this program up to date; nothing was taken.",
    "archive_file_missing": "The archive is not whole: {file} is missing in it. Nothing was taken; take another copy.",
    "archive_file_added": "In the archive there is {file}, which does not belong there. Nothing was taken; take another copy.",
    "archive_file_changed": "{file} of the archive is not what it was when it was written: its size or its SHA-256 differs. Nothing was taken; take another copy.",
    "archive_line_wrong": "Line {line} of {file} of the archive is not a sound entry or signature, or does not follow the one before it. Nothing was taken; take another copy.",
    "archive_count_differs": "What the archive holds is not what its {file} counts. Nothing was taken; take another copy.",
    "archive_frame_changed": "{file} holds bytes beside its files that were changed or added. Nothing was taken; take another copy.",
    "archive_unsound": "The record in the archive is not sound: {finding}. Nothing was taken or written.",
    "archive_over_clinic": "The store holds a clinic already; an archive is taken only into one that holds none. Name another one with --store. Nothing was changed.",
})
