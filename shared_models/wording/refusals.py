"""The sentence for every refusal: what can't be taken, and what would be right.

What is refused beside a single field is worded in ``entering``, what only a
server refuses in ``server_sentences``; all the rest is worded here.
"""

from __future__ import annotations

from functools import lru_cache
from importlib import import_module
from typing import Any, Mapping, Protocol

from shared_models.language import Phrases, filled, phrase, spoken
from shared_models.wording.figures import Figures


class Coded(Protocol):
    """A refusal, or a reason inside one: a stable code and its figures."""

    @property
    def code(self) -> str:
        """Return the stable code."""

    @property
    def figures(self) -> Mapping[str, Any]:
        """Return plain figures by name."""


#: What an author can't record.
_RECORDING = Phrases({
    "settle_first": "{title} was changed apart on two tablets. Choose first which one stands, then record the new one.",
    "unknown_reason": "A correction needs its reason: mistyped, measured again, wrong person, or other. Choose one.",
    "other_place": "{title}: a correction keeps its place. Withdraw the wrong entry and record a new one where it belongs.",
    "already_replaced": "{title}: this entry has been replaced already. Open the newest one and correct that.",
})

#: What a store can't do.  A refused write has saved nothing of it.
_STORING = Phrases({
    "not_saved_disk_full": "Not saved: the disk is full. Make room, then save again; what was typed is kept.",
    "not_saved": "Not saved: the store's disk can't be written. What was typed is kept; save again, and if it is refused again use another tablet.",
    "draft_not_kept": "The disk can't keep what is typed now: it stands on this screen only. Make room on this tablet, then go on typing or save.",
    "store_busy": "Not saved: another program is writing to this store. Wait a moment, then save again.",
    "chain_moved_on": "Not saved: this tablet's record has grown meanwhile, entry {number} no longer follows entry {end}. Open the step again and save.",
    "database_not_reached": "The database can't be reached just now. Try again in a while: what is there already is not taken twice. If it lasts, check the address, name and password of the database.",
    "database_url_wrong": "The database's URL is not of the form postgresql://user@host/name.",
    "database_not_supported": "A store lies in a file or in a PostgreSQL, not in '{found}'. Name a file, or a URL that begins with postgresql://.",
    "database_driver_missing": "To use a PostgreSQL its driver is needed: install stancebook[server].",
    "database_not_utf8": "The database does not keep its text as UTF-8. Make one with ENCODING 'UTF8'.",
    "database_not_durable": "The database does not wait for its disk ({setting} is off), so saved would not mean kept. Switch it on and start again.",
    "store_disk_full": "The store can't be opened: the disk is full. Make room and start again; nothing in it was changed.",
    "store_unreadable": "The store can't be read. Check that the disk is attached and may be read; nothing in it was changed.",
    "store_read_only": "The store can be read but not written. Give this account the right to write the file and its folder.",
    "store_corrupt": "The store is damaged ({finding}). Keep the file as it is. A server's: put a backup in its place. A tablet's: what was synced is on the server, and 'stancebook verify FILE --rescue-to FRESH' on a computer gets out what can still be read.",
    "store_folder_missing": "The folder {folder} does not exist. Make it, or name another one.",
    "not_a_database": "{file} is no Stancebook store. Name the file of a store, or one that does not exist yet; this one was left as it was.",
    "not_a_stancebook_store": "This database is no Stancebook store. Name the file of a store, or one that does not exist yet; this one was left as it was.",
    "store_of_other_side": "This is the store of a {found}, and a {wanted}'s store is needed. Name another file.",
    "store_made_by_newer_program": "This store was written by Stancebook {store_program}, and this is {this_program}. Bring this program up to date; the store was left as it was.",
    "record_damaged": "An entry in the store does not match its digest ({digest}). Keep the file as it is and sync again, or open a backup.",
    "content_damaged": "Something in the store was changed from outside and does not open ({place}). Keep the file as it is and sync again, or open a backup.",
    "rescue_over_a_file": "There is a file {file} already. Name one that does not exist yet; nothing was written over.",
    "rescue_no_keys": "This is no tablet's store, or so damaged that neither a PIN nor the tablet's own key can be read. Keep the file; set the tablet up anew, and what the server has comes back.",
    "store_locked": "The store is locked. Unlock it with your PIN first.",
})

_PINS = Phrases({
    "pin_not_digits": "A PIN is made of digits only, at least {shortest} of them.",
    "pin_too_short": "This PIN has {digits} digits; take at least {shortest}.",
    "pin_too_long": "This PIN has {digits} digits; take at most {longest}.",
    "pin_too_common": "This PIN is too easily guessed. Take digits without a pattern.",
    "keys_already_made": "This tablet has its people already. Let one of them unlock it and add you.",
    "person_has_a_pin": "This person has a PIN on this tablet. Unlock with it, or let a lead clinician give a new one.",
    "staff_made_on_server": "This person is not known to the clinic. Let the lead clinician add them on the server, send and fetch, then choose them here.",
    "no_pin_for_person": "This person has no PIN on this tablet. Let somebody who has one add them.",
    "verify_needs_staff": "Say whose PIN opens this tablet's store, with --staff. There are: {known}.",
    "may_not_vouch": "You can't vouch for this key: only a lead clinician, or the same person on a tablet where their key already counts.",
    "lead_gives_pins": "Only a lead clinician gives a new PIN to somebody who has one here. Let them unlock this tablet.",
    "lead_renews_data_key": "Only a lead clinician seals the record under a fresh key, since everybody else here gets a new PIN by it. Let them unlock this tablet.",
    "wrong_pin": "That is not the PIN. Tries left: {tries_left}.",
    "pin_waits": "Several wrong PINs. Wait {seconds} seconds and try again; setting the clock does not help.",
    "pin_locked": "Locked after {tries} wrong tries, until a lead clinician at this tablet gives a new PIN.",
    "no_recovery_code": "There is no recovery code for this person on this tablet. Ask the lead clinician for a one-time code.",
    "wrong_recovery_code": "That is not the recovery code. Check it letter by letter. Tries left: {tries_left}.",
    "recovery_code_dead": "After {tries} wrong tries this recovery code opens nothing any more. Ask the lead clinician for a one-time code.",
    "not_your_recovery_code": "A recovery code is made for oneself, or by a lead clinician.",
    "person_ended": "This person no longer works at the clinic, so the tablet doesn't open for them. Let a colleague unlock it.",
    "code_for_other_person": "That one-time code was made for somebody else. Choose the person it was made for.",
})

#: A batch that can't be read, and an answer that can't.
_TRAVELLING = Phrases({
    "batch_too_large": "What was sent is larger than is taken at once ({largest} bytes). Send it in smaller batches.",
    "batch_too_many": "What was sent holds {items} items, and at most {largest} are taken at once. Send it in smaller batches.",
    "batch_not_gzip": "What arrived is cut short or damaged. Nothing of it was taken; sync again.",
    "batch_not_strict_json": "What arrived is not in the strict form that records travel in. Nothing of it was taken; sync again.",
    "batch_unknown_format": "What arrived is in a form of another version; this one knows form {known}. Bring the older side up to date.",
    "batch_wrong_form": "What arrived lacks something or holds too much ({place}). Nothing of it was taken; bring the older side up to date.",
    "batch_refused": "Nothing of this batch was taken. Each reason is listed; the tablet keeps everything.",
    "pull_out_of_order": "The server's entries came out of their order. Nothing of it was taken; sync again.",
    "pull_item_damaged": "An entry from the server is damaged ({place}). Nothing of it was taken; sync again.",
})

#: Why one entry or signature of a batch is refused.
_INTAKE = Phrases({
    "digest_differs": "An entry does not match its digest: it was changed on the way. Send it again from where it was made.",
    "practice_entry": "An entry of practice came: nobody was fitted, and nothing of practice is taken. Send only what was recorded of people.",
    "other_clinic": "An entry of clinic {entry} came in a batch of clinic {batch}. Send it with its own clinic.",
    "follows_refused_entry": "This entry follows one that is refused. Mend that one, then send both.",
    "chain_gap": "Entry {number} of tablet {tablet} does not follow what is known, which ends at {known_number}. Send the entries between.",
    "chain_head_not_signed": "Entry {number} of tablet {tablet} leads up to no signed end of its chain. Send it together with that tablet's signature.",
    "signature_wrong_form": "A signature is not in the form that is taken. Sign again on the tablet.",
    "signs_unknown_entry": "A signature lies over an entry that is not known here. Send the entry with it.",
    "signature_other_clinic": "A signature and its entry belong to different clinics. Sign again on the tablet.",
    "signature_not_of_this_chain": "{signer} signed the chain of another tablet. A tablet signs its own chain only.",
    "signer_did_not_record_entry": "{signer} signed an entry that another person recorded. Each person signs what they recorded themselves.",
    "key_not_enrolled": "The key of {signer} is not enrolled here. Enrol it, then sync again.",
    "signature_does_not_verify": "The signature of {signer} does not fit what it signs. Sign again on the tablet.",
})

#: Why a tablet could not sync; it keeps everything and tries again later.
_SYNCING = Phrases({
    "no_server": "This tablet is not enrolled with a server. Everything is kept here; enrol it when there is a network.",
    "server_not_reached": "The server can't be reached. Everything is kept here; sync again when there is a network.",
    "address_wrong": "That is no address of a server. Type it like https://server.example.",
    "needs_tls_address": "The address must begin with https; without TLS a record travels to this same machine only.",
    "answer_unreadable": "The server's answer can't be read. Everything is kept here; check the address, and that both sides have the same version.",
    "server_said": "The server says: {sentence} Everything is kept here.",
    "access_revoked_here": "The lead clinician took this tablet's access away. What it had not sent was handed over and is held back for them ({held}); everything stays on this tablet.",
    "server_answered": "The server did not take it (it answered {status}). Everything is kept here; sync again later.",
})

#: What a check of a stored chain finds.
_CHAINS = Phrases({
    "number_differs": "A row's number is not the one its entry states. Keep the file as it is and open a backup.",
    "row_missing": "An entry is missing from the middle of a chain. Keep the file as it is and sync again, or open a backup.",
    "chain_broken": "An entry does not name the one before it. Keep the file as it is and open a backup.",
    "tail_missing": "The end of a chain is missing here, though another store holds it. Sync again to bring it back.",
})

#: Why an envelope is not of the form; on the wire with ``envelope_`` in front.
_ENVELOPE = Phrases({
    "not_an_object": "'{field}' of an entry should be an object.",
    "unknown_format": "An entry is in a format that this version does not know. Bring Stancebook up to date.",
    "not_strict_json": "An entry holds something that can't be recorded exactly. Amounts travel as text.",
    "wrong_form": "'{field}' of an entry is not in the form that is taken.",
    "not_a_uuid7": "'{field}' of an entry should be a UUID of version 7, in lower case.",
    "not_a_count": "'{field}' of an entry should be a whole number from 1.",
    "not_a_moment": "'{field}' of an entry should be a date and time with its offset from UTC.",
    "not_a_clock_reading": "'{field}' of an entry should be a clock reading.",
    "not_digests": "'{field}' of an entry should be a list of digests.",
    "not_sorted": "'{field}' of an entry should be sorted and name each digest once.",
    "not_a_digest": "'{field}' of an entry should be a digest, or empty for the first entry.",
    "chain_start": "Only the first entry of a chain, and always that one, names none before it.",
    "reason_and_replaces_go_together": "An entry that replaces another states why, and only such an entry does.",
})

#: A table again, so that each is said when it is read: unpacked they are the English ones.
_OWN: Mapping[str, str] = Phrases({
    **_RECORDING, **_STORING, **_PINS, **_TRAVELLING, **_INTAKE, **_SYNCING,
    **_CHAINS,
    **{f"envelope_{code}": sentence for code, sentence in dict.items(_ENVELOPE)},
})
#: Modules of this room with a table of their own; read when one of theirs is needed,
#: because they stand on the calculations and a locked page should not wait for these.
_SUBJECTS = (
    "torque", "model_leg", "alignment", "attachments", "part_codes", "tuning", "timing",
    "timing_lines", "rehearsing", "practice",
    "person_sheet", "carrying", "archive",
)


@lru_cache(maxsize=1)
def all_sentences() -> Mapping[str, str]:
    """Return every sentence by its code."""
    subjects = (import_module(f"shared_models.wording.{name}") for name in _SUBJECTS)
    merged: Phrases = Phrases()
    for subject in reversed([*subjects]):
        merged.update(subject.REFUSALS)
    merged.update(_OWN)
    return merged


def __getattr__(name: str) -> Mapping[str, str]:
    if name == "SENTENCES":
        return all_sentences()
    raise AttributeError(name)


_UNKNOWN = phrase("Refused for a reason that this version has no words for ({code}). Bring Stancebook up to date.")


def refusal_sentence(refusal: Coded) -> str:
    """Return what is wrong and what would be right; an unknown code is named."""
    # Imported late, because the server's words fall back on these.
    from shared_models.wording import server_sentences

    template = (
        _OWN.get(refusal.code) or all_sentences().get(refusal.code)
        or server_sentences.SENTENCES.get(refusal.code)
    )
    if template is None:
        return spoken(_UNKNOWN, code=refusal.code)
    return filled(template, _Stated(refusal.figures))


class _Stated(Figures):
    """A figure that an older or newer side did not send is shown as not stated."""

    def __missing__(self, name: str) -> str:
        return spoken("not stated")
