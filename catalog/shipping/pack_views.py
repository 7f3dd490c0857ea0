"""Pages of packing: the crates of a loan, one crate, and the kinds of crates."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from catalog.access.people import signed_in
from catalog.access.permissions import Ability, can
from catalog.core import house
from catalog.core.http import render_page
from catalog.loans.models import Loan
from catalog.loans.pages import form_page, loan_or_404, loan_steps, status_of
from catalog.pieces.pages import done
from catalog.shipping import pack_actions, pack_queries
from catalog.shipping.calc.aircraft import too_much_for
from catalog.shipping.calc.crate_lift import CAUTIONS, SOURCE
from catalog.shipping.calc.freight import BAG_SOURCE, DIVISORS, bag_class, charged
from catalog.shipping.calc.pack_facts import open_first
from catalog.shipping.pack_forms import CrateForm, CrateKindForm, PutForm
from catalog.shipping.pack_models import CrateSpec, PackCrate
from catalog.shipping.pack_queries import CrateRow
from catalog.storage.models import State

GET_POST = ["GET", "POST"]


def pack(request: HttpRequest, reference: str) -> HttpResponse:
    """The crates of a loan as they stand, or as they would be packed; to look stores nothing."""
    return _page(request, loan_or_404(reference))


@require_POST
def take(request: HttpRequest, reference: str) -> HttpResponse:
    """Take the proposal over that was looked at."""
    found = loan_or_404(reference)
    made = pack_actions.take_packing(by=signed_in(request), loan=found, mark=request.POST.get("mark", ""))
    messages.success(request, f"{len(made)} crates are planned. Scan each piece as it goes in.")
    return redirect("pack:pack", found.reference)


@require_http_methods(GET_POST)
def put(request: HttpRequest, reference: str) -> HttpResponse:
    """A scanned piece goes into its crate, or into another one."""
    user, found = signed_in(request), loan_or_404(reference)
    if request.method == "GET":
        return redirect("pack:pack", found.reference)
    form = PutForm(request.POST, loan=found)
    sentences: list[str] = []

    def act() -> None:
        data = form.cleaned_data
        row = pack_actions.put_in_crate(by=user, loan=found, code=data["code"], anyway=data["anyway"], **form.where())
        sentences.append(f"{row.line.piece.number} {row.line.piece.name}: in crate {row.crate.number}.")

    if done(form, act):
        messages.success(request, sentences[0])
        return redirect("pack:pack", found.reference)
    return _page(request, found, form)


@require_http_methods(GET_POST)
def crate(request: HttpRequest, reference: str, number: int) -> HttpResponse:
    """Seal and weigh one crate."""
    user, found = signed_in(request), loan_or_404(reference)
    row = PackCrate.objects.select_related("spec", "loan", "place").filter(loan=found, number=number).first()
    if row is None:
        raise Http404(f"{found} has no crate {number}.")
    form = CrateForm(request.POST or None, by=user, crate=row)

    def act() -> None:
        data = form.cleaned_data
        pack_actions.note_crate(by=user, crate=row, seal=data["seal"], weighed_g=data["weighed"])

    if request.method == "POST" and done(form, act):
        now = next(one for one in pack_queries.kept_rows(found)[0] if one.number == number)
        tell = messages.warning if now.scale_matters else messages.success
        tell(request, now.scale or f"Crate {number} is noted.")
        return redirect("pack:pack", found.reference)
    return form_page(
        request,
        form,
        steps=[*_steps(found), {"word": f"Crate {number}", "url": ""}],
        answer=f"Seal and weigh crate {number}.",
        verb="Keep seal and weight",
        note="Weigh the closed crate. A seal stands for its content: write down each number on it.",
    )


@require_POST
def travel(request: HttpRequest, reference: str) -> HttpResponse:
    """The crates left with their loan, or are back."""
    found, away = loan_or_404(reference), request.POST.get("away") == "yes"
    number = pack_actions.crates_travel(by=signed_in(request), loan=found, away=away)
    messages.success(request, f"{number} crates {'left the store' if away else 'are back on the dock'}.")
    return redirect("pack:pack", found.reference)


def crate_kinds(request: HttpRequest) -> HttpResponse:
    """The kinds of crates the house packs in."""
    rows = list(CrateSpec.objects.all())
    context = {
        "kinds": rows,
        "used": sum(row.active for row in rows),
        "two_g": int(house.value("lift.two_person_g")),
        "may_arrange": can(request.user, Ability.ARRANGE_STORE),
    }
    return render_page(request, "catalog/shipping/crate_kinds.html", context)


@require_http_methods(GET_POST)
def add_crate_kind(request: HttpRequest) -> HttpResponse:
    """A new kind of crate."""
    return _kind_page(request, None)


@require_http_methods(GET_POST)
def edit_crate_kind(request: HttpRequest, code: str) -> HttpResponse:
    """Change a kind of crate, or take it out of use."""
    spec = CrateSpec.objects.filter(code__iexact=code).first()
    if spec is None:
        raise Http404(f"There is no kind of crate {code[:20]}.")
    return _kind_page(request, spec)


def _kind_page(request: HttpRequest, spec: CrateSpec | None) -> HttpResponse:
    user = signed_in(request)
    form = CrateKindForm(request.POST or None, by=user, spec=spec)
    if request.method == "POST" and done(
        form, lambda: pack_actions.keep_crate_kind(by=user, spec=spec, **form.cleaned_data)
    ):
        messages.success(request, f"{form.cleaned_data['code']} is kept.")
        return redirect("shipping:crate_kinds")
    steps = [{"word": "Kinds of crates", "url": reverse("shipping:crate_kinds")}, {"word": "Kind", "url": ""}]
    answer = "Add a kind of crate." if spec is None else f"Change {spec.name}."
    return form_page(request, form, steps=steps, answer=answer, verb="Keep this kind")


def _steps(loan: Loan) -> list[dict[str, str]]:
    return [*loan_steps(loan), {"word": "Pack", "url": reverse("pack:pack", args=[loan.reference])}]


def _page(request: HttpRequest, loan: Loan, form: PutForm | None = None) -> HttpResponse:
    kept, loose = pack_queries.kept_rows(loan)
    may_pack = can(request.user, Ability.PACK) and loan.state == Loan.State.PULLING
    context: dict[str, Any] = {
        "loan": loan,
        "steps": loan_steps(loan, "Pack"),
        "may_pack": may_pack,
        "may_label": can(request.user, Ability.RECORD),
        "may_arrange": can(request.user, Ability.ARRANGE_STORE),
        "has_crates": bool(kept),
        "loose": loose,
        "kinds": CrateSpec.objects.filter(active=True).exists(),
        "fill": int(house.value("pack.fill_percent")),
        "cautions": CAUTIONS,
        "lift_source": SOURCE,
    }
    if kept:
        rows = kept
        if may_pack:
            context["form"] = form or PutForm(loan=loan)
        if can(request.user, Ability.PACK) and loan.state != Loan.State.PULLING:
            context["crates_in"] = sum(row.kept is not None and row.kept.place.state != State.OUT for row in rows)
        context["waiting"] = sum(row.waiting for row in rows)
    else:
        proposal = pack_queries.propose(loan) if loan.state == Loan.State.PULLING else None
        rows = pack_queries.proposed_rows(loan, proposal) if proposal else []
        context["proposal"] = proposal
    return render_page(
        request, "catalog/shipping/pack.html", context | _told(rows), status=status_of(form) if form else 200
    )


def _told(rows: list[CrateRow]) -> dict[str, Any]:
    """The crates with what they weigh and cost together, and which are too large for which hold."""
    sent = [(row.spec.outer_mm, row.kept.weighed_g or row.gross_g if row.kept else row.gross_g) for row in rows]
    names = [f"crate {row.number}" for row in rows]
    by_name = [(name, outer, gross) for name, (outer, gross) in zip(names, sent, strict=True)]
    return {
        "rows": rows,
        "gross_g": sum(gross for _, gross in sent),
        "freight": [charged(sent, divisor) for divisor in DIVISORS],
        "holds": too_much_for(by_name),
        "bags": sum(bag_class(outer, gross) != "cargo only" for outer, gross in sent),
        "bag_source": BAG_SOURCE,
        "first": open_first([(row.number, row.hot > 0) for row in rows]),
        "two_people": sum(row.lift.people == 2 for row in rows),
        "not_by_hand": sum(row.lift.people == 0 for row in rows),
    }
