"""What is read of care: whether pieces may be worn, what is dangerous in them, what is open."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from typing import Any, cast

from django.db.models import Q, QuerySet
from django.utils import timezone

from catalog.care.apart_queries import as_pest_works
from catalog.care.calc.apart import KeptApart
from catalog.care.calc.cautions import LOCAL_RULES, cautions_for, hazard_name, waiting_for_a_test, what_is_known
from catalog.care.calc.hazards import implied_hazards, resolved_hazards
from catalog.care.calc.wear import Decision, Report, WearState, wear_of
from catalog.care.evidence_queries import told_of_one
from catalog.care.models import BatteryPack, ConditionReport, HazardFinding, Treatment, WearDecision
from catalog.pieces.models import Material, Piece
from catalog.pieces.queries import made_year


def wear_state(pieces: Iterable[Piece]) -> dict[int, WearState]:
    """For each piece, by its pk: may it be worn, and why not. Five queries, however many pieces.

    Hand in pieces with `production` selected: their years are read. Beyond that nothing is asked a piece.
    """
    rows = list(pieces)
    ids = [piece.pk for piece in rows]
    materials, findings, decisions = materials_of(ids), findings_of(ids), _decisions(ids)
    reports = _newest_reports(ids)
    damaged = set(
        BatteryPack.objects.filter(piece__in=ids, state=BatteryPack.State.DAMAGED, removed_on__isnull=True).values_list(
            "piece", flat=True
        )
    )
    return {
        piece.pk: wear_of(
            decisions.get(piece.pk),
            resolved_hazards(
                materials.get(piece.pk, ()), findings.get(piece.pk, ()), kind=piece.kind, made_year=made_year(piece)
            ),
            materials_known=bool(materials.get(piece.pk)),
            damaged_pack=piece.pk in damaged,
            report=reports.get(piece.pk),
        )
        for piece in rows
    }


def hazards_of(pieces: Iterable[Piece]) -> dict[int, dict[str, str]]:
    """For each piece, by its pk, the state of every hazard implied or found. Two queries; hand pieces in as above."""
    rows = list(pieces)
    ids = [piece.pk for piece in rows]
    materials, findings = materials_of(ids), findings_of(ids)
    return {
        piece.pk: resolved_hazards(
            materials.get(piece.pk, ()), findings.get(piece.pk, ()), kind=piece.kind, made_year=made_year(piece)
        )
        for piece in rows
    }


def wear_blockers(piece: Piece) -> tuple[str, ...]:
    """Sentences that say why one piece may not be worn; empty when it may, now, with limits or after its repair."""
    return wear_state([piece])[piece.pk].why


def materials_of(piece_ids: Iterable[int]) -> Mapping[int, list[str]]:
    """Names of the materials of each piece; a piece without recorded materials is missing from the answer."""
    named: dict[int, list[str]] = defaultdict(list)
    through = Piece.materials.through.objects.filter(piece__in=list(piece_ids))
    for piece_id, name in through.values_list("piece_id", "material__name"):
        named[piece_id].append(name)
    return dict(named)


def findings_of(piece_ids: Iterable[int]) -> Mapping[int, list[tuple[str, str]]]:
    """The current finding of each hazard of each piece, as (code, state)."""
    found: dict[int, list[tuple[str, str]]] = defaultdict(list)
    rows = HazardFinding.objects.filter(piece__in=list(piece_ids), current=True)
    for piece_id, hazard, state in rows.order_by("id").values_list("piece_id", "hazard", "state"):
        found[piece_id].append((hazard, state))
    return dict(found)


def _newest_reports(piece_ids: list[int]) -> Mapping[int, Report]:
    found: dict[int, Report] = {}
    rows = ConditionReport.objects.filter(piece__in=piece_ids).order_by("reported_at", "id")
    for piece_id, grade, stability, completeness, at in rows.values_list(
        "piece_id", "grade", "stability", "completeness", "reported_at"
    ):
        found[piece_id] = Report(grade, stability, completeness, timezone.localdate(at))
    return found


def _decisions(piece_ids: list[int]) -> Mapping[int, Decision]:
    rows = WearDecision.objects.filter(piece__in=piece_ids, current=True).values(
        "piece_id",
        "decision",
        "limits",
        "minutes_limit",
        "rest_minutes",
        "no_close_up",
        "repair",
        "repair_days",
        "repair_day_kind",
        "decided_on",
        "questioned_on",
        "questioned_why",
    )
    return {row.pop("piece_id"): Decision(**row) for row in cast("Iterable[dict[str, Any]]", rows)}


def care_facts(piece: Piece) -> dict[str, Any]:
    """The sections of the piece's page about its care, for the parts `_condition`, `_hazards` and `_work`.

    Keys: piece, wear (WearState), decision (row or None), report (row with marks, or None), hazards (code, name, state,
    tone, note, source), missing_parts, materials_known, hazards_known (a sentence: how far they are known), cautions,
    packs, wild_parts, treatments (open), quarantine (open, or None), kept (KeptApart), alterations (not undone), told
    (what is known of its on-screen breakdown), looked (the newest look that found no change, or None).
    """
    packs = list(piece.packs.filter(removed_on__isnull=True))
    materials = materials_of([piece.pk]).get(piece.pk, [])
    found = findings_of([piece.pk]).get(piece.pk, ())
    states = resolved_hazards(materials, found, kind=piece.kind, made_year=made_year(piece))
    treatments = list(piece.treatments.filter(state__in=Treatment.OPEN))
    quarantine = piece.quarantines.filter(released_on__isnull=True).first()
    pests = tuple(as_pest_works([row for row in treatments if row.against_pests]))
    damaged = any(pack.state == BatteryPack.State.DAMAGED for pack in packs)
    return {
        "piece": piece,
        "wear": wear_state([piece])[piece.pk],
        "decision": piece.wear_decisions.filter(current=True).first(),
        "report": piece.reports.select_related("reported_by").prefetch_related("marks").first(),
        "hazards": _hazard_rows(piece, states, materials),
        "missing_parts": list(piece.parts.filter(missing_since__isnull=False)),
        "materials_known": bool(materials),
        "hazards_known": what_is_known(materials, states),
        "cautions": cautions_for(states, damaged_pack=damaged, materials_known=bool(materials)),
        "local_rules": LOCAL_RULES,
        "packs": packs,
        "wild_parts": list(piece.wild_parts.filter(gone_on__isnull=True)),
        "treatments": treatments,
        "quarantine": quarantine,
        "kept": KeptApart(pests, quarantine.due_on, quarantine.reason) if quarantine else KeptApart(pests),
        "alterations": list(piece.alterations.filter(undone_on__isnull=True)),
        "told": told_of_one(piece),
        "looked": piece.inspections.first(),
    }


_TONES = {"cleared": "good", "confirmed": "bad", "suspected": "care", "untested": "unknown"}


def _hazard_rows(piece: Piece, states: Mapping[str, str], materials: Iterable[str]) -> list[dict[str, str]]:
    found = {row.hazard: row for row in piece.hazards.filter(current=True)}
    implied = implied_hazards(materials, kind=piece.kind, made_year=made_year(piece))
    rows = []
    for code, state in states.items():
        row = found.get(code)
        source = f"{row.found_by_name}, {row.found_on:%-d %b %Y}" if row else implied[code].because
        rows.append(
            {
                "code": code,
                "name": hazard_name(code),
                "state": state,
                "tone": _TONES[state],
                "note": row.note if row else "",
                "source": source,
            }
        )
    return sorted(rows, key=lambda row: (row["state"] == "cleared", row["name"]))


def untested_pieces(pieces: QuerySet[Piece]) -> list[tuple[Piece, tuple[str, ...]]]:
    """Of these pieces, those that wait for a test, each with the names of what is open; a fixed number of queries.

    What a material merely implies counts as well as what somebody noted: nobody has looked is no reason to forget it.
    """
    noted = HazardFinding.objects.filter(current=True, state__in=["untested", "suspected"]).values("piece")
    names = Material.objects.values_list("name", flat=True)
    telling = [name for name in names if waiting_for_a_test({c: i.state for c, i in implied_hazards([name]).items()})]
    rows = list(pieces.filter(Q(pk__in=noted) | Q(materials__name__in=telling)).distinct().select_related("production"))
    ids = [piece.pk for piece in rows]
    materials, findings = materials_of(ids), findings_of(ids)
    waiting = []
    for piece in rows:
        states = resolved_hazards(
            materials.get(piece.pk, ()), findings.get(piece.pk, ()), kind=piece.kind, made_year=made_year(piece)
        )
        if codes := waiting_for_a_test(states):
            waiting.append((piece, tuple(hazard_name(code) for code in codes)))
    return waiting
