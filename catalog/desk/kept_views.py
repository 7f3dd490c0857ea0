"""Deciding on what another page's queue sent too late: it is done now, or dropped with a reason."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect

from catalog.access.people import signed_in
from catalog.core.checks import blame
from catalog.core.errors import CatalogError
from catalog.core.http import render_page
from catalog.core.lanes import do_kept, drop_kept
from catalog.desk.kept_queries import kept_for
from catalog.desk.scan_forms import KeptActForm


def decide_act(request: HttpRequest, pk: int) -> HttpResponse:
    """One kept act and its two answers."""
    user = signed_in(request)
    act = get_object_or_404(kept_for(user), pk=pk)
    form = KeptActForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        try:
            if form.cleaned_data["decision"] == "do":
                messages.success(request, do_kept(by=user, act=act))
            else:
                drop_kept(by=user, act=act, why=form.cleaned_data["why"])
                messages.success(request, f"{act}: dropped.")
        except CatalogError as error:
            blame(form, error)
        else:
            return redirect("desk:scan_kept")
    status = 422 if form.errors else 200
    return render_page(request, "catalog/desk/decide_act.html", {"form": form, "act": act}, status=status)
