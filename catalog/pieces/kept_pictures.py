"""A picture that was sent with a form that had a fault elsewhere: a browser forgets the chosen file, so it is kept."""

from django import forms
from django.db import transaction

from catalog.access.models import User
from catalog.core.errors import Refused
from catalog.core.models import File
from catalog.core.pictures import store_picture


def kept_picture(form: forms.BaseForm, user: User) -> str:
    """Store a good picture of a faulty form; the name (its hash) to send back with it, or an empty text."""
    sent = form.cleaned_data.get("picture") if hasattr(form, "cleaned_data") else None
    if not sent or "picture" in form.errors:
        return str(form.data.get("kept", ""))
    try:
        with transaction.atomic():
            return store_picture(by=user, data=sent).sha256
    except Refused as refused:
        form.add_error("picture", refused.sentence)
        return ""


def picture_bytes(form: forms.BaseForm, user: User) -> bytes | None:
    """The picture sent now, else the one this person sent before a fault elsewhere in the form."""
    if form.cleaned_data.get("picture"):
        sent: bytes = form.cleaned_data["picture"]
        return sent
    kept = form.cleaned_data.get("kept")
    file = File.objects.filter(sha256=kept, stored_by=user).first() if kept else None
    if file is None:
        return None
    with file.original.open("rb") as stream:
        original: bytes = stream.read()
    return original
