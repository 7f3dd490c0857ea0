"""Sign in, sign out, the reader's units."""

from typing import cast

from django.contrib import messages
from django.contrib.auth.views import LoginView, LogoutView
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

from catalog.access.forms import SignInForm, UnitsForm
from catalog.access.models import User

sign_in = LoginView.as_view(
    template_name="catalog/access/sign_in.html", authentication_form=SignInForm, redirect_authenticated_user=True
)
sign_out = LogoutView.as_view(next_page="access:sign_in")


@require_POST
def units(request: HttpRequest) -> HttpResponse:
    """Keep the reader's units and go back to the page they came from."""
    form = UnitsForm(request.POST)
    if form.is_valid():
        user = cast("User", request.user)
        user.units = form.cleaned_data["units"]
        user.save(update_fields=["units"])
    else:
        messages.error(request, "Choose cm and kg, or inches and pounds.")
    back = request.POST.get("next", "/")
    inside = back.startswith("/") and url_has_allowed_host_and_scheme(back, {request.get_host()})
    return HttpResponseRedirect(back if inside else "/")
