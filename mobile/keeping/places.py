"""Where on a tablet its things lie."""

STORE_NAME = "stancebook.tablet"
