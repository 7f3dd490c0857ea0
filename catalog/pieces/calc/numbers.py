"""How a temporary number is told from a piece's own: by its first word, which no piece may ever carry."""

# Written on a tag it says by itself that the thing has no number of its own yet.
TEMPORARY = "FOUND-"


def is_temporary(number: str) -> bool:
    """Whether the text is a temporary number, in any case."""
    return number.strip().upper().startswith(TEMPORARY)
