"""Addresses of calls, holds and loans. A call's own page is in the desk, which sees the rooms above."""

from django.urls import path

from catalog.loans import (
    call_views,
    compare_views,
    hold_views,
    home_views,
    loan_views,
    paper_views,
    report_views,
    unlisted_views,
)

app_name = "loans"
urlpatterns = [
    path("calls/", call_views.calls, name="calls"),
    path("take-a-call/", call_views.take_call, name="take_call"),
    path("calls/<str:reference>/change/", call_views.edit_call, name="edit_call"),
    path("calls/<str:reference>/how-many/", call_views.needs, name="needs"),
    path("calls/<str:reference>/performers/", call_views.wearers, name="wearers"),
    path("calls/<str:reference>/performers/<str:number>/", call_views.edit_wearer, name="edit_wearer"),
    path("calls/<str:reference>/performers/<str:number>/off/", call_views.remove_wearer, name="remove_wearer"),
    path("calls/<str:reference>/close/", call_views.close_call, name="close_call"),
    path("holds/", hold_views.holds, name="holds"),
    path("hold-pieces/", hold_views.make_hold, name="make_hold"),
    path("holds/<str:reference>/", hold_views.hold, name="hold"),
    path("holds/<str:reference>/note.pdf", paper_views.hold_note, name="hold_note"),
    path("holds/<str:reference>/firm-up/", hold_views.firm_up, name="firm_up"),
    path("holds/<str:reference>/release/", hold_views.release, name="release"),
    path("loans/", loan_views.loans, name="loans"),
    path("loans/<str:reference>/", loan_views.loan, name="loan"),
    path("loans/<str:reference>/list/", loan_views.report, name="loan_list"),
    path("loans/<str:reference>/pull/", loan_views.pull, name="pull"),
    path("loans/<str:reference>/papers/", paper_views.papers, name="papers"),
    path("loans/<str:reference>/agreement.pdf", paper_views.agreement, name="agreement"),
    path("loans/<str:reference>/gap-cards.pdf", paper_views.gap_cards, name="gap_cards"),
    path("loans/<str:reference>/pull/put-back/", loan_views.put_back, name="put_back"),
    path("loans/<str:reference>/send/", loan_views.send, name="send"),
    path("loans/<str:reference>/call-off/", loan_views.call_off, name="call_off"),
    path("loans/<str:reference>/on-set/", home_views.on_set, name="on_set"),
    path("loans/<str:reference>/return/", home_views.take_back, name="return"),
    path("loans/<str:reference>/not-ours/", unlisted_views.not_ours, name="not_ours"),
    path("loans/<str:reference>/not-ours/<int:thing_id>/", unlisted_views.hand_over, name="hand_over"),
    path(
        "loans/<str:reference>/not-ours/<int:thing_id>/picture.jpg",
        unlisted_views.unlisted_picture,
        name="unlisted_picture",
    ),
    path("loans/<str:reference>/not-back/<str:number>/", home_views.not_back, name="not_back"),
    path("loans/<str:reference>/compare/<str:number>/", compare_views.compare, name="compare"),
    path("loans/<str:reference>/condition/<str:way>/", report_views.condition, name="condition"),
    path("loans/<str:reference>/condition/<str:way>/sign/", report_views.sign, name="sign_condition"),
    path("loans/<str:reference>/condition/<str:way>/piece/<str:number>/", report_views.piece, name="condition_piece"),
    path("loans/<str:reference>/put-away/", home_views.put_away, name="put_away"),
    path("loans/<str:reference>/part-home/<str:number>/", home_views.part_home, name="part_home"),
    path("loans/<str:reference>/close/", home_views.close, name="close"),
]
