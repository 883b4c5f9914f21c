"""The revisions of the schema that this program knows, oldest first."""

KNOWN_REVISIONS = ("0001", "0002", "0003", "0004", "0005", "0006", "0007", "0008", "0009", "0010", "0011")
