"""What is said of photos on their way, of sealed files on a stick, and of a server above."""

from __future__ import annotations

from shared_models.language import PhraseRow, Phrases, counted, phrase, spoken

REFUSALS = Phrases({
    # photos on their way
    "attachment_not_named": "No record of this clinic names this photo. Send the record first; the photo stays on the tablet.",
    "attachment_name_wrong": "A photo is asked for by its SHA-256: 64 small hex digits.",
    "attachment_not_its_hash": "What arrived is not the photo that the record names: its SHA-256 differs. Nothing of it was kept; it is sent again from its beginning.",
    "attachment_not_a_picture": "What was sent is neither a JPEG nor a PNG picture, whatever it is called. Take the photo again on the tablet.",
    "attachment_cut_short": "The picture is cut short or damaged. Take the photo again on the tablet.",
    "attachment_more_after_picture": "Something else is hung on behind the picture. Take the photo again on the tablet, which keeps the picture only.",
    "attachment_too_many_pixels": "The picture has {megapixels} megapixels, and at most {most} are taken. Take it smaller.",
    "attachment_too_large": "The photo has {megabytes} MB, and at most {most} MB are taken. Take it smaller.",
    "attachment_says_where": "The photo still says where it was taken, or may say so. It is refused; take the photo again on the tablet, which takes that out.",
    "attachment_not_whole_yet": "The photo is not whole here yet. Ask again once it has been sent.",
    "upload_offset_differs": "The photo goes on at byte {expected}, not {offered}. Ask where it stands and send from there.",
    "upload_offset_missing": "Say where the bytes belong: Upload-Offset, a whole number.",
    "upload_complete_wrong": "Upload-Complete is ?0 while more follows, and ?1 with the last bytes.",
    "upload_length_differs": "The photo was said to have {stated} bytes, and {found} came. Ask where it stands and send again.",
    "upload_is_whole": "The photo is whole here already. Nothing needs to be sent.",
    "upload_piece_too_large": "At most {most} bytes of a photo are taken at once. Send smaller pieces.",
    "upload_wrong_type": "Bytes of a photo are sent as application/partial-upload.",
    "lane_answered": "The server answered {status} when a photo was sent. Everything is kept; try again later.",
    "lane_not_settling": "The server and this tablet do not agree how far a photo has come. Everything is kept; try again later.",
    "lane_said": "The server says: {sentence} Everything is kept here.",
    "photo_refused_there": "The server does not take a photo: {sentence} The photo stays on this tablet.",
    # carried on a stick
    "sealed_not_ours": "This is no file that was carried from a tablet or a server of Stancebook. Leave it away.",
    "sealed_unknown_format": "This file is of a newer version. Bring Stancebook up to date here, then take it in again.",
    "sealed_damaged": "This file was damaged on its way, or changed. Nothing of it was taken; carry it once more.",
    "sealed_for_another": "This file is sealed for another server or tablet. Carry it to the one it is meant for.",
    "sealed_sender_unknown": "The tablet {tablet} that wrote this file is not enrolled here. Enrol it first; nothing of it was taken.",
    "sealed_server_unknown": "This receipt is not from this clinic's server. Nothing was changed.",
    "sealed_too_large": "This file is larger than any that is carried (at most {most} MB). Nothing of it was taken.",
    "receipt_other_clinic": "This receipt is for another clinic or another tablet. Nothing was changed.",
    "receipt_after_restore": "The server was restored from a copy since this tablet met it. Send and fetch over the network once, or carry everything again.",
    "stick_not_there": "{folder} can't be read. Put the stick in again, or choose another folder.",
    "stick_full": "The stick is full: {folder}. Make room and write again; everything is kept on this tablet.",
    "stick_not_written": "{folder} can't be written. Take another stick; everything is kept on this tablet.",
    "stick_has_no_receipt": "There is no receipt for this tablet in {folder}. Carry the stick to the server first.",
    "stick_needs_server": "This clinic has no server yet, so there is nowhere to carry to. Everything is kept on this tablet.",
    # a server above
    "no_server_above": "There is no server above this one for clinic {clinic}. Join one first: --join-above.",
    "above_not_reached": "The server above can't be reached. Everything is kept here; run it again later.",
    "above_said": "The server above says: {sentence} Everything is kept here.",
    "above_answered": "The server above answered {status}, and not in the form that is expected. Check its address.",
    "above_token_of_other_key": "The token for the server above was sealed by another signing key and can't be opened for clinic {clinic}. Ask there for a code for a server in the field, and join again: --join-above.",
    "joined_above_already": "This server has joined a server above for clinic {clinic} already.",
    "code_not_for_a_hub": "This code is for a tablet. A server in the field needs a code of its own: --hub-code.",
    "clinic_known_here": "Clinic {clinic} is known here already. Ask for a code for this clinic instead.",
    "joined_already": "This clinic has a server already. Send and fetch goes to it.",
    "code_of_other_clinic": "This code is for another clinic. Ask for a code for a founding tablet: --founder-code.",
    "attachment_disk": "The server's disk can't take the photo now. It stays on the tablet; send it later.",
})


def photos_waiting_words(count: int, size: int) -> str:
    """Return how many photos the server has not named as whole; "" for none."""
    if not count:
        return ""
    photos = spoken("1 photo") if count == 1 else spoken("{count} photos", count=count)
    return spoken("{photos} not sent yet, {max} MB. The records go first; each photo stays here until the server has it whole.", photos=photos, max=max(1, round(size / 1_000_000)))


def photos_refused_words(count: int, sentence: str) -> str:
    """Return what a server said of photos that it does not take; "" for none."""
    if not count:
        return ""
    photos = spoken("1 photo was") if count == 1 else spoken("{count} photos were", count=count)
    return spoken("{photos} refused: {sentence} The photo stays on this tablet.", photos=photos, sentence=sentence)


def photos_sent_words(sent: int, left: int, why: str) -> str:
    """Return what came of photos, to stand behind what was sent; "" for nothing."""
    words = spoken(" {sent} {photos} sent.", sent=sent, photos=counted("photo", "photos", sent)) if sent else ""
    if left:
        words += spoken(" {left} {photos} still to be sent. {why}", left=left, photos=counted("photo is", "photos are", left), why=why).rstrip()
    return words


STICK_HEAD = PhraseRow((
    "Carry by stick",
    "With no network: write what is unsent to a stick, have it taken in at the server, bring the stick back.",
))
#: What the two buttons do, as they are called on the page.
STICK_WRITE, STICK_TAKE_BACK = phrase("Write to the stick"), phrase("Read the receipt")
STICK_SAFE = phrase("Only this clinic's server can open what lies on the stick. Nothing counts as sent until its receipt is back.")
CARRY_ROW = PhraseRow(("Carry by stick", "for when there is no network at all"))
JOIN_ROW = PhraseRow(("Join a server", "this clinic began here; its record can go to a server now"))
JOIN_HEAD = PhraseRow(("Join a server", "Type the address and the code for a founding tablet. Everything recorded here stays, and goes up."))


def stick_place_words(count: int) -> str:
    """Return what lies in a folder that may be chosen."""
    if not count:
        return spoken("nothing of Stancebook on it")
    return spoken("1 file of Stancebook on it") if count == 1 else spoken("{count} files of Stancebook on it", count=count)


def stick_unsent_words(count: int) -> str:
    """Return how much would be written."""
    return spoken("{count} still to be carried", count=count) if count else spoken("nothing to carry: the server has everything")


def stick_written_words(files: int, entries: int, photos: int) -> str:
    """Return what lies on the stick after it was written."""
    if not files:
        return spoken("There was nothing to write: the server has everything.")
    held = [counted("{number} entry", "{number} entries", entries)] if entries else []
    held += [counted("{number} photo", "{number} photos", photos)] if photos else []
    return spoken("{held}, in {count} {files}. Take the stick to the server, then bring it back.", held=spoken(" and ").join(held), count=files, files=counted("file", "files", files))


def stick_back_words(entries: int, photos: int, refused: str, copied: bool) -> str:
    """Return what the receipt said."""
    if copied:
        return spoken("The server knows another record under this tablet's name. Send and fetch over the network; both records are kept.")
    words = spoken("The server has {entry_count} more {entries} and {photo_count} more {photos}.", entry_count=entries, entries=counted("entry", "entries", entries), photo_count=photos, photos=counted("photo", "photos", photos))
    if not entries and not photos:
        words = spoken("The server says nothing new.")
    return spoken("{words} Not taken: {refused}", words=words, refused=refused) if refused else words
