"""Sentences for what only a server refuses: enrolment, log-ins, decisions."""

from __future__ import annotations

from shared_models.language import Phrases, filled
from shared_models.wording.refusals import Coded, refusal_sentence
from shared_models.wording.states import SUPERVISION

SENTENCES = Phrases({
    # a batch
    "batch_other_clinic": "The batch is for clinic {batch}; this tablet is enrolled for {clinic}.",
    "body_wrong_form": "'{field}' is not in the form that its kind asks. Correct it on the tablet.",
    "recorded_on_server_only": "An entry of the kind '{kind}' is taken only from the clinic's server. Do it on the review page.",
    "subject_of_other_clinic": "The {type} belongs to another clinic. Nothing of it was taken.",
    # enrolment and access
    "enrolment_wrong_form": "The request to enrol is not of the form ({place}).",
    "code_not_known": "This enrolment code is not known. Check it letter by letter, or ask for a fresh one.",
    "code_used": "This enrolment code was used already. Ask for a fresh one.",
    "code_expired": "This enrolment code is older than {days} days. Ask for a fresh one.",
    "enrolment_waits": "Too many wrong codes. Wait {seconds} seconds and try again.",
    "tablet_id_taken": "A tablet of that identity is enrolled with another key. Give this tablet a new identity.",
    "token_missing": "The tablet did not say who it is. Enrol it first.",
    "token_not_known": "This tablet is not enrolled here. Enrol it with a one-time code.",
    "access_revoked": "The access of this tablet was taken away. Speak to the lead clinician; the tablet keeps its record.",
    "key_not_waiting": "That key waits for nobody any more. Look again.",
    "staff_unknown": "There is nobody of that name on the staff list. Choose somebody from the page.",
    "tablet_unknown": "There is no tablet of that name. Choose one from the page.",
    "not_yourself": "You can't take away your own access. Another lead clinician does it.",
    "staff_ended": "This person no longer works here. Record first that they work here again; then their roles can be changed.",
    "roles_missing": "Choose at least one role. For somebody who is to have none any more, record 'No longer works here'.",
    "roles_unchanged": "These roles they have already, so nothing was recorded. Tick what they are to have from now on, and take the tick off what not.",
    "roles_changed_meanwhile": "{who} changed these roles on {when}, after you opened this page. Nothing of yours was recorded; look again. What you chose and typed is kept below.",
    "last_lead": "Nobody else who can log in here is a lead clinician, so the role stays. Make a colleague with a log-in a lead clinician first, or let whoever runs the server add one.",
    "no_recovery_share": "The tablet {tablet} has left nothing here with which to reset a PIN. Let it send and fetch once, or use a sealed recovery code.",
    "reset_wrong_form": "The request to reset a PIN is not of the form ({place}).",
    "not_copied": "The record here ends as this tablet's does, so it keeps its name.",
    "held_full": "More than {most} items of this tablet or person wait for the lead clinician already. The tablet keeps the rest.",
    "held_not_there": "That is no longer waiting: somebody decided already. Look again.",
    "held_not_sound": "What is held back does not pass the checks, so it can't be taken in ({why}). It stays held.",
    "reason_missing": "Say why. The reason is kept with the decision.",
    "clinic_not_yours": "The tablet is enrolled for another clinic.",
    "wrong_day": "'day' must be a date, written as 2026-03-04.",
    "wrong_number": "'{name}' must be a whole number from {lowest} to {largest}.",
    # log-in
    "wrong_login": "Login and password do not fit together. Try again.",
    "login_waits": "Several wrong passwords for this login. Wait {seconds} seconds and try again.",
    "login_locked": "This login is locked after {tries} wrong passwords. Whoever runs the server can give a new password.",
    "form_not_from_here": "The form was too old or did not come from this page. It is shown again; send it once more.",
    "session_ended": "The session has ended. Log in again.",
    "login_taken": "The login {login} is taken. Choose another.",
    "login_not_known": "There is no login {login}.",
    "login_wrong_form": "A login has 3 to 60 small letters, digits, dots or hyphens and begins with a letter.",
    "name_missing": "The name is missing. It is printed beside every decision.",
    "password_too_short": "The password has {characters} characters; at least {shortest} are needed. Several words make a good one.",
    "password_too_long": "The password has {characters} characters; at most {longest} are taken.",
    "password_too_common": "That password is too easily guessed. Take several unrelated words.",
    "sheet_wrong": "Nothing was published. Mend what is said beside the fields; what you typed is kept.",
    "sheet_changed_since_seen": "Somebody published another version since you opened this page. Compare it with what you typed, which is kept below, and send it again.",
    # decisions
    "not_a_lead_clinician": "Only a lead clinician of this clinic decides.",
    "decides_own_fitting": "You are the prosthetist of this fitting; another lead clinician must decide.",
    "decides_own_sign_off": "You signed off the screws of this fitting; another lead clinician must decide.",
    "already_decided": "This fitting is decided, and nothing has changed since.",
    "changed_since_seen": "Something changed since you opened this page. Look again; what you typed is kept below.",
    "accepted_meanwhile": "{who} accepted this fitting on {when}, after you opened this page. Nothing of yours was recorded; look again. What you typed is kept below.",
    "returned_meanwhile": "{who} returned this fitting on {when}, after you opened this page. Nothing of yours was recorded; look again. What you typed is kept below.",
    "remark_too_long": "A remark may have {longest} characters; one has {over} too many. Nothing was recorded. Shorten it; what you typed is kept below.",
    "remark_for_unknown_step": "There is no step '{step}' in this fitting, so nothing was decided. Write the remark at one of the steps listed.",
    "return_without_remark": "To return the fitting, say at one step or more what is to be mended.",
    "accept_without_sign_off": "It can't be accepted: the technician's sign-off is missing or no longer stands. " + SUPERVISION,
    "accept_incomplete": "It can't be accepted: something is still missing, see 'What is missing'. Return it with remarks instead.",
    "unknown_decision": "Choose to accept or to return.",
    "password_wrong_for_decision": "That is not your password. Nothing was recorded; type it again.",
    # the server
    "needs_tls": "Without TLS the server listens on this machine only. Give it a certificate (--tls-certificate, --tls-key), or put a TLS proxy in front and say --tls-in-front and --proxy, or leave --host away.",
    "proxy_not_named": "Behind a proxy the server takes requests from named proxies only. Say which: --proxy ADDRESS, or STANCEBOOK_PROXIES.",
    "tls_half_set": "TLS needs both a certificate and its key: --tls-certificate and --tls-key.",
    "tls_twice": "Either the server speaks TLS (--tls-certificate) or a proxy does (--tls-in-front), not both.",
    "tls_file_unusable": "Certificate and key can't be used: {file}. Both must be PEM files that this account may read, the key without a password and belonging to the certificate.",
    "not_through_proxy": "This server is reached through its proxy only.",
    "not_over_tls": "This server is reached over https only.",
    "too_slow": "For {seconds} seconds nothing came of what was being sent. Nothing was taken; send it again.",
    "address_in_use": "Port {port} on {host} is taken, or may not be used. Choose another with --port.",
    "key_file_needed": "With a database server, say where the server's signing key is kept: STANCEBOOK_KEY_FILE.",
    "key_of_other_server": "The signing key is not one of this store's server, so tablets would not know what it signs. Name the right key file with STANCEBOOK_KEY_FILE; if that is lost, say --accept-new-key once.",
    "key_file_unreadable": "The server's signing key {path} can't be read.",
    "setting_wrong": "{name} is '{value}'; {wanted}.",
    "clinic_not_known": "There is no clinic '{clinic}' in this store. Known: {known}.",
    "not_a_lead_yet": "'{staff}' is no lead clinician of this clinic, so a log-in would open nothing. Let a lead clinician give the role under 'Tablets and people' first.",
    "has_a_log_in": "'{staff}' can log in already, as {login}. Give a new password with --new-password {login}.",
    "staff_not_known": "There is nobody '{staff}' on this clinic's staff list. Known: {known}.",
    "clinic_needed": "Say which clinic: --clinic and its id, or --add-lead with --clinic-name to found one. Known: {known}.",
    "no_demo_in_use": "The store holds a clinic already; the demo needs a fresh one. Leave --demo away, or name another file with --store.",
    # looking after the store
    "store_missing": "There is no store {file}. Say with --store which one is meant.",
    "store_unsound": "The store is not sound: {finding}. Keep it as it is, and restore a backup; tablets offer again what that lacks.",
    "store_of_older_form": "The store has an older form than this program's. Start the server once with this program, then make the backup.",
    "store_form_differs": "The store has another form than this program reads. Check it with the version that serves it, or start the server once with this one.",
    "backup_of_database_server": "A PostgreSQL is copied by its own tools: pg_dump, then --check. See docs/running-a-server.md.",
    "restore_into_database_server": "A PostgreSQL is restored by its own tools: pg_restore, then --begin-epoch. See docs/running-a-server.md.",
    "backup_folder_there": "{folder} is there already. Name a folder that is not; an older backup is never written over.",
    "backup_not_written": "The files in {folder} can't be written or read to the end. Check room and rights; the store was left as it was.",
    "backup_damaged": "The backup is not whole: {finding}. Nothing was changed; take another backup.",
    "backup_of_newer_form": "The backup was made by a newer Stancebook. Bring this program up to date; nothing was changed.",
    "restore_over_store": "There is a store {file} already. Say --replace to set it aside under another name, or name another one with --store. Nothing was changed.",
    "store_in_use": "The store {file} is in use. Stop the server first; nothing was changed.",
    "not_found": "There is nothing here under that name.",
    "too_large": "What was sent is too large.",
    "wrong_request": "The request is not of the form.",
    "host_not_served": "This server is not reached under that name.",
    "role_missing": "Your roles do not let you see this.",
})


def server_sentence(refusal: Coded) -> str:
    """Return what is wrong and what would be right, for any code a server meets."""
    template = SENTENCES.get(refusal.code)
    if template is None:
        return refusal_sentence(refusal)
    return filled(template, _Named(refusal.figures))


class _Named(dict):
    """A figure that is not given shows as its name."""

    def __missing__(self, key: str) -> str:
        return key
