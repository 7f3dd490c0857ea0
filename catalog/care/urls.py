from django.urls import path

from catalog.care import (
    dying_views,
    evidence_views,
    garment_views,
    look_views,
    pest_views,
    report_views,
    views,
    wild_views,
    work_views,
)

app_name = "care"
urlpatterns = [
    path("treatments/", views.treatments, name="treatments"),
    path("untested/", views.untested, name="untested"),
    path("dies-first/", dying_views.dies_first, name="dies_first"),
    path("dies-first/table.csv", dying_views.dies_first_csv, name="dies_first_csv"),
    path("looks/<int:look_id>/", look_views.look, name="look"),
    path("looks/<int:look_id>/sample/", look_views.add_sample, name="add_sample"),
    path("looks/<int:look_id>/sample/<int:number>/", look_views.decide_sample, name="decide_sample"),
    path("looks/<int:look_id>/order/", look_views.order, name="order_breakdown"),
    path("not-washed/", evidence_views.not_washed, name="not_washed"),
    path("not-washed/table.csv", evidence_views.not_washed_csv, name="not_washed_csv"),
    path("<str:number>/report/", report_views.report, name="report"),
    path("<str:number>/report/<int:report_id>/", report_views.reported, name="reported"),
    path("<str:number>/wear/", views.decide, name="decide"),
    path("<str:number>/hazard/", views.hazard, name="hazard"),
    path("<str:number>/pack/", views.pack, name="pack"),
    path("<str:number>/animal-or-plant/", wild_views.wild_part, name="wild_part"),
    path("<str:number>/treatment/", work_views.treatment, name="treatment"),
    path("<str:number>/treatment/<int:treatment_id>/", views.move_treatment, name="move_treatment"),
    path(
        "<str:number>/treatment/<int:treatment_id>/call-off/",
        work_views.call_off_treatment,
        name="call_off_treatment",
    ),
    path("<str:number>/treatment/<int:treatment_id>/approve/", evidence_views.approve, name="approve_cleaning"),
    path("<str:number>/breakdown/", evidence_views.breakdown, name="breakdown"),
    path("<str:number>/quarantine/", work_views.quarantine, name="quarantine"),
    path("<str:number>/pest-hold/", pest_views.pest_hold, name="pest_hold"),
    path("<str:number>/alteration/", garment_views.alteration, name="alteration"),
    path("<str:number>/garment-card/", garment_views.card, name="garment_card"),
    path("<str:number>/garment-card.pdf", garment_views.card_paper, name="garment_card_pdf"),
    path("<str:number>/alteration/<int:alteration_id>/", views.undo_alteration, name="undo_alteration"),
]
