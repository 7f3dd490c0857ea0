"""Input for loading a table: the file or pasted rows, and how its columns are named."""

import base64
import binascii
from typing import Any

from django import forms
from django.core import signing
from django.core.exceptions import ValidationError

from catalog.access.models import User
from catalog.core.errors import BadTable
from catalog.core.plain_forms import PlainForm
from catalog.exchange.calc.columns import KIND_WORDS, TABLES
from catalog.exchange.reading import PASTED, read_json

SALT = "catalog.exchange.looked-at-table"
MOST_BYTES = 2 * 1024 * 1024
MOST_SECONDS = 3600


class TableForm(PlainForm):
    """A table and its mapping. `kind` is fixed on a page that loads one kind only."""

    kind = forms.ChoiceField(label="What is in it", choices=[(k, words) for k, words in KIND_WORDS.items()])
    file = forms.FileField(
        label="File",
        required=False,
        help_text="CSV in UTF-8, or XLSX (its first sheet). The first row names the columns.",
    )
    pasted = forms.CharField(
        label="Or pasted rows",
        required=False,
        strip=False,
        widget=forms.Textarea(attrs={"rows": 6, "spellcheck": "false"}),
        help_text="With the header, as copied from a spreadsheet or with commas.",
    )
    mapping_file = forms.FileField(
        label="Mapping file",
        required=False,
        help_text="JSON, when the columns have other names than ours.",
    )
    mapping = forms.CharField(
        label="Or the mapping itself",
        required=False,
        widget=forms.Textarea(attrs={"rows": 4, "spellcheck": "false"}),
        help_text='For example {"columns": {"number": "Inventory no"}}.',
    )

    def __init__(self, *args: Any, kind: str = "", **options: Any) -> None:
        super().__init__(*args, **options)
        if kind:
            del self.fields["kind"]
        else:
            # What belongs to one call is loaded from its own page.
            own = {table.kind for table in TABLES.values() if table.needs_call}
            choices = [(name, words) for name, words in KIND_WORDS.items() if name not in own]
            self.fields["kind"].choices = choices  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """Puts `data`, `file_name` and the parsed `rules` beside what was typed."""
        found = super().clean() or {}
        file, pasted = found.get("file"), found.get("pasted", "")
        if file is not None and pasted.strip():
            raise ValidationError("Choose a file or paste rows, not both.")
        if file is not None:
            found["data"], found["file_name"] = file.read(), file.name
        elif pasted.strip():
            found["data"], found["file_name"] = pasted.strip("\r\n").encode(), PASTED
        elif "file" not in self.errors:
            self.add_error("file", "Choose a file, or paste rows below.")
        if len(found.get("data", b"")) > MOST_BYTES:
            self.add_error(
                "file", f"A table larger than {MOST_BYTES // 1024**2} MB is loaded with the command import_table."
            )
        found["rules"] = self._rules(found)
        return found

    def _rules(self, found: dict[str, Any]) -> Any:
        file, typed = found.get("mapping_file"), found.get("mapping", "")
        if file is not None and typed.strip():
            self.add_error("mapping", "Choose a mapping file or type the mapping, not both.")
            return None
        name, data = ("mapping_file", file.read()) if file is not None else ("mapping", typed.encode())
        if not data.strip():
            return None
        try:
            return read_json(data, file.name if file is not None else "The mapping")
        except BadTable as wrong:
            self.add_error(name, wrong.sentence)
            return None


def seal(*, by: User, kind: str, call: str, data: bytes, file_name: str, rules: Any) -> str:
    """The looked-at table as a signed text for the form's second step: nothing of it is kept on the server."""
    packed = {
        "by": by.pk,
        "kind": kind,
        "call": call,
        "data": base64.b64encode(data).decode(),
        "file_name": file_name,
        "rules": rules,
    }
    return signing.dumps(packed, salt=SALT, compress=True)


def unseal(text: str, *, by: User) -> dict[str, Any]:
    """What was sealed by the same person within the hour. Raises BadTable with a sentence."""
    try:
        packed: dict[str, Any] = signing.loads(text, salt=SALT, max_age=MOST_SECONDS)
        packed["data"] = base64.b64decode(packed["data"])
    except (signing.BadSignature, binascii.Error) as wrong:
        raise BadTable("What was looked at is not there any more. Choose the file or paste the rows again.") from wrong
    if packed.pop("by") != by.pk:
        raise BadTable("Somebody else looked at this table. Choose the file or paste the rows again.")
    return packed
