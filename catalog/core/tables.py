"""Tables to take away as CSV. A cell that a spreadsheet would run as a formula is made plain text."""

import csv
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from django.http import StreamingHttpResponse

# What a spreadsheet reads as the start of a formula (common practice, no source).
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def safe_cell(value: Any) -> str:
    """The cell's text; a leading formula sign is defused with an apostrophe, a plain number stays a number."""
    text = "" if value is None else str(value)
    if text.startswith(FORMULA_STARTS) and not _is_number(text):
        return f"'{text}"
    return text


def csv_lines(header: Sequence[str], rows: Iterable[Sequence[Any]]) -> Iterator[str]:
    """The table line by line, so that a large one is never held whole."""
    writer = csv.writer(_Echo())
    yield writer.writerow(header)
    for row in rows:
        yield writer.writerow([safe_cell(value) for value in row])


def csv_response(name: str, header: Sequence[str], rows: Iterable[Sequence[Any]]) -> StreamingHttpResponse:
    """A download of the table in UTF-8."""
    answer = StreamingHttpResponse(csv_lines(header, rows), content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer


class _Echo:
    """A file that gives back what is written, for csv.writer."""

    def write(self, text: str) -> str:
        return text


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True
