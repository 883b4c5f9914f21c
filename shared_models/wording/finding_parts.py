"""Words of finding people by part."""

from __future__ import annotations

TITLE = "Find by part"
LEAD = "Type a serial, lot or device identifier as marked, a component's name, or scan the code on a part. Both who carries it now and who did are found."
NOW, BEFORE = "carries it now", "carried it before"
PLAIN = "Looked for as serial, lot, device identifier and name of a component."
CODE = "Read as a code: {says}. Looked for as a code, and as typed."
UNCLEAR = "The code can be read in more than one way; type it with brackets as printed, like (01) (10) (21). Looked for as typed."
NOBODY = "Nobody of this clinic carries it or did, as far as tablets have sent their records."
MORE = "More than {most} lines; only these are shown. Look for something narrower."
NAMES = {"device_identifier": "device identifier", "lot": "lot", "serial": "serial"}
COLUMNS = (
    "Carries", "Name", "Born on", "File number", "Side", "Place", "Component", "Sheet version",
    "Serial", "Lot", "Device identifier", "Built in on",
)
