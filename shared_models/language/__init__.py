"""In which language a person reads what Stancebook says.

Every sentence is written in English where it is used and handed to `spoken`,
which gives it in the reader's language and then puts the figures in.  Tables
of sentences are `Phrases`, words that belong to a table of the edition are
`Worded`: they are given in the reader's language each time they are read, so
that two people can read one fitting in two languages at once.

What is recorded, signed, digested or sent stays as it was written; no sentence
goes into a record by way of this room.  docs/languages.md says how a language
is added.
"""

from shared_models.language.catalogues import (
    MARKED,
    SOURCE,
    Language,
    language_of,
    languages,
    runs_right_to_left,
)
from shared_models.language.choosing import choose_language, current_language, in_language
from shared_models.language.figures import decimal_sign, figure_said, number_words
from shared_models.language.speaking import (
    PhraseRow,
    Phrases,
    Worded,
    begun,
    counted,
    filled,
    phrase,
    spoken,
    within,
)

__all__ = [
    "MARKED", "SOURCE", "Language", "PhraseRow", "Phrases", "Worded", "begun", "choose_language", "counted", "current_language",
    "decimal_sign", "figure_said", "filled", "in_language", "language_of", "languages", "number_words",
    "phrase", "runs_right_to_left", "spoken", "within",
]
