from django.urls import URLPattern, path

from catalog.desk import scan_views, travel_views, views

app_name = "desk"
urlpatterns: list[URLPattern] = [
    path("", views.today, name="today"),
    path("pieces/<str:number>/", views.piece, name="piece"),
    path("scan/", scan_views.scan, name="scan"),
    path("calls/<str:reference>/travel/", travel_views.call_travel, name="call_travel"),
    path("calls/<str:reference>/travel.json", travel_views.call_travel_json, name="call_travel_json"),
    path("calls/<str:reference>/travel/keep/", travel_views.keep_call_travel, name="keep_call_travel"),
    # On every label for ever: both cases, with and without a slash.
    path("q/<str:code>/", scan_views.label_target, name="label_target"),
    path("q/<str:code>", scan_views.label_target, name="label_target"),
    path("Q/<str:code>/", scan_views.label_target, name="label_target_printed"),
    path("Q/<str:code>", scan_views.label_target, name="label_target_printed"),
]
