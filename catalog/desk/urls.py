from django.urls import URLPattern, path

from catalog.desk import (
    call_views,
    custody_views,
    house_views,
    pull_views,
    record_views,
    scan_camera,
    scan_device_views,
    scan_views,
    travel_views,
    value_views,
    views,
    wrong_place_views,
)

app_name = "desk"
urlpatterns: list[URLPattern] = [
    path("", views.today, name="today"),
    path("pieces/<str:number>/", views.piece, name="piece"),
    path("pieces/<str:number>/handled/", custody_views.handled, name="handled"),
    path("pieces/<str:number>/custody.pdf", custody_views.custody, name="custody"),
    path("house/", house_views.house_rules, name="house_rules"),
    path("record/", record_views.record, name="record"),
    path("scan/", scan_views.scan, name="scan"),
    path("scan/put/", scan_views.put, name="scan_put"),
    path("scan/undo/", scan_views.undo, name="scan_undo"),
    path("scan/kept/", scan_views.kept, name="scan_kept"),
    path("scan/kept/<int:pk>/", scan_views.decide, name="scan_decide"),
    path("scan/decode/", scan_camera.decode, name="scan_decode"),
    path("scan/ready/", scan_device_views.ready, name="scan_ready"),
    path("scan/look/", scan_device_views.look, name="scan_look"),
    path("scan/send/", scan_device_views.send, name="scan_send"),
    # The offline page and its worker; their addresses lie under the scan page, so that the worker reaches no further.
    path("scan/shell/", scan_device_views.shell, name="scan_shell"),
    path("scan/worker.js", scan_device_views.worker, name="scan_worker"),
    path("values/", value_views.values, name="values"),
    path("values/table.csv", value_views.values_csv, name="values_csv"),
    path("wrong-place/", wrong_place_views.wrong_place, name="wrong_place"),
    path("wrong-place/table.csv", wrong_place_views.wrong_place_csv, name="wrong_place_csv"),
    path("wrong-place/put-right/", wrong_place_views.put_right, name="put_right"),
    path("calls/<str:reference>/values/", value_views.call_values, name="call_values"),
    path("calls/<str:reference>/values/table.csv", value_views.call_values_csv, name="call_values_csv"),
    path("calls/<str:reference>/", call_views.call, name="call"),
    path("calls/<str:reference>/hold/", call_views.hold_call, name="hold_call"),
    path("holds/<str:reference>/start-loan/", call_views.start_loan, name="start_loan"),
    # The address of loans:pull, heard here first: the page that pulls must know travel too, and only the desk sees it.
    path("loans/<str:reference>/pull/", pull_views.pull, name="pull"),
    path("calls/<str:reference>/travel/", travel_views.call_travel, name="call_travel"),
    path("calls/<str:reference>/travel.json", travel_views.call_travel_json, name="call_travel_json"),
    path("calls/<str:reference>/travel/keep/", travel_views.keep_call_travel, name="keep_call_travel"),
    # On every label for ever: both cases, with and without a slash.
    path("q/<str:code>/", scan_views.label_target, name="label_target"),
    path("q/<str:code>", scan_views.label_target, name="label_target"),
    path("Q/<str:code>/", scan_views.label_target, name="label_target_printed"),
    path("Q/<str:code>", scan_views.label_target, name="label_target_printed"),
]
