"""Labels as PDF: one, a run of blanks, or everything in a place."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.http import urlencode

from catalog.core import house
from catalog.core.checks import blame
from catalog.core.errors import CatalogError, Refused
from catalog.core.http import render_page
from catalog.core.paper.page import pdf_response
from catalog.storage import actions, label_queries, queries
from catalog.storage.forms import PlaceLabelsForm
from catalog.storage.label_pdf import labels_pdf
from catalog.storage.label_views import label_or_404
from catalog.storage.labels import prints_of, usual_size
from catalog.storage.models import Label
from catalog.storage.views import place_or_404, steps_of, user_of


def label_pdf(request: HttpRequest, code: str) -> HttpResponse:
    """One label, ?paper=…&start=…; on trunk labels one for each of three sides."""
    label = label_or_404(request, code)
    return _printed(request, [label], f"label-{label.code}.pdf", usual_size(label.piece or label.place))


def blanks_pdf(request: HttpRequest) -> HttpResponse:
    """Blanks made before, ?first=…&count=…&paper=…&start=…"""
    first, count = _number(request, "first"), _number(request, "count")
    if not 1 <= count <= actions.MOST_BLANKS:
        raise Refused(f"Print between 1 and {actions.MOST_BLANKS} blanks at once.", field="count")
    made = Label.objects.filter(letter="B", serial__gte=first, serial__lt=first + count).order_by("serial")
    return _printed(request, list(made), "blank-labels.pdf")


def place_labels(request: HttpRequest, code: str) -> HttpResponse:
    """Labels for what is in a place: what has none gets one, then all are printed."""
    user, found = user_of(request), place_or_404(code)
    form = PlaceLabelsForm(request.POST or None, by=user)
    if request.method == "POST" and form.is_valid():
        facts = form.cleaned_data
        try:
            pieces, places = label_queries.to_label(found, facts["what"], user)
            actions.issue_labels(by=user, pieces=pieces, places=places)
        except CatalogError as error:
            blame(form, error)
        else:
            return redirect(f"{reverse('storage:place_labels_pdf', args=[found.code])}?{urlencode(facts)}")
    context = {
        "form": form,
        "place": found,
        "counts": label_queries.counts(found, user),
        "steps": steps_of(queries.path(found), "Labels"),
    }
    return render_page(request, "catalog/storage/place_labels.html", context)


def place_labels_pdf(request: HttpRequest, code: str) -> HttpResponse:
    """The labels that things in the place have now, ?what=…&paper=…&start=…"""
    found = place_or_404(code)
    labels = label_queries.labels_in(found, request.GET.get("what", label_queries.PIECES), user_of(request))
    return _printed(request, labels, f"labels-{found.code}.pdf")


def _printed(request: HttpRequest, labels: list[Label], name: str, usual: str = "a4-21") -> HttpResponse:
    if not labels:
        raise Refused("There is no label to print here: issue labels first.")
    paper = request.GET.get("paper", usual)
    data = labels_pdf(prints_of(labels, paper), paper, start=_number(request, "start"), house=_house())
    return pdf_response(name, data)


def _number(request: HttpRequest, name: str) -> int:
    typed = request.GET.get(name) or "1"
    if not typed.isdecimal() or len(typed) > 7:
        raise Refused(f"“{typed[:20]}” is no number for “{name}”.", field=name)
    return int(typed)


def _house() -> str:
    return str(house.value("house.name"))
