"""Words of finding people by part."""

from __future__ import annotations

from shared_models.language import PhraseRow, Phrases, phrase

TITLE = phrase("Find by part")
LEAD = phrase("Type a serial, lot or device identifier as marked, a component's name, or scan the code on a part. Both who carries it now and who did are found.")
NOW, BEFORE = phrase("carries it now"), phrase("carried it before")
PLAIN = phrase("Looked for as serial, lot, device identifier and name of a component.")
CODE = phrase("Read as a code: {says}. Looked for as a code, and as typed.")
UNCLEAR = phrase("The code can be read in more than one way; type it with brackets as printed, like (01) (10) (21). Looked for as typed.")
NOBODY = phrase("Nobody of this clinic carries it or did, as far as tablets have sent their records.")
MORE = phrase("{count} lines were found, and the first {most} are shown. The call list has all of them.")
NAMES = Phrases({"device_identifier": "device identifier", "lot": "lot", "serial": "serial"})
#: A word before it keeps a number a text in a spreadsheet, with its + and its first noughts.
TELEPHONE = phrase("Tel. {number}")
COLUMNS = PhraseRow((
    "Carries", "Name", "Telephone", "Born on", "File number", "Side", "Place", "Component", "Sheet version",
    "Serial", "Lot", "Device identifier", "Built in on",
))
