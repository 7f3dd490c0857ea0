"""Addresses of sets, quick fit, size sheets, the dry run and the kept plan. No size stands in any of them."""

from django.urls import path

from catalog.fitting import (
    day_views,
    load_views,
    other_views,
    plan_views,
    quick_views,
    rule_views,
    set_views,
    sheet_views,
    short_views,
    who_views,
    why_views,
)

app_name = "fitting"
urlpatterns = [
    path("sets/", set_views.sets, name="sets"),
    path("sets/<str:code>/", set_views.set_sheet, name="set_sheet"),
    path("quick/", quick_views.quick, name="quick_fit"),
    path("who/", who_views.who, name="who"),
    path("kept/", sheet_views.sheets_kept, name="sheets_kept"),
    path("kept/forget/", sheet_views.forget, name="forget"),
    path("bands/", rule_views.bands, name="bands"),
    path("bands/<int:band>/take-off/", rule_views.remove_band, name="remove_band"),
    path("exclusions/", rule_views.exclusion_rules, name="exclusion_rules"),
    path("calls/<str:reference>/sizes/", sheet_views.sheets, name="sheets"),
    path("calls/<str:reference>/sizes/<str:number>/", sheet_views.sheet_edit, name="sheet_edit"),
    path("calls/<str:reference>/fittings/", day_views.fitting_list, name="fitting_list"),
    path("calls/<str:reference>/fittings.csv", day_views.fitting_list_csv, name="fitting_list_csv"),
    path("calls/<str:reference>/who/", who_views.who_call, name="who_call"),
    path("calls/<str:reference>/dry-run/", plan_views.dry_run_page, name="dry_run"),
    path("calls/<str:reference>/side-by-side/", plan_views.side_by_side, name="side_by_side"),
    path("calls/<str:reference>/why-not/", why_views.why_not, name="why_not"),
    path("calls/<str:reference>/take-over/<str:number>/", why_views.take_over, name="take_over"),
    path("calls/<str:reference>/short/", short_views.what_is_short, name="what_is_short"),
    path("calls/<str:reference>/other-plans/", other_views.other, name="other_plans"),
    path("calls/<str:reference>/load/", load_views.worn_loads, name="worn_loads"),
    path("calls/<str:reference>/plan/", plan_views.plan, name="plan"),
    path("calls/<str:reference>/plan/keep/", plan_views.keep_plan, name="keep_plan"),
    path("calls/<str:reference>/plan/lock/<str:number>/", plan_views.lock, name="lock"),
    path("calls/<str:reference>/plan.csv", plan_views.plan_csv, name="plan_csv"),
    path("calls/<str:reference>/plan.json", plan_views.plan_json, name="plan_json"),
]
