from django.urls import URLPattern, path

from catalog.desk import stocktake_closing
from catalog.storage import count_sending, stocktake_views, tally_views

app_name = "stocktake"
urlpatterns: list[URLPattern] = [
    path("", stocktake_views.stocktakes, name="stocktakes"),
    path("start/", stocktake_views.start, name="start"),
    path("coverage/", tally_views.coverage, name="coverage"),
    path("<str:reference>/", stocktake_views.stocktake, name="stocktake"),
    path("<str:reference>/count/", stocktake_views.count, name="count"),
    path("<str:reference>/count/send/", count_sending.count_send, name="count_send"),
    path("<str:reference>/count/unlabelled/", stocktake_views.unlabelled, name="unlabelled"),
    path("<str:reference>/take-back/", stocktake_views.take_back, name="take_back"),
    path("<str:reference>/counted/", stocktake_views.counted, name="counted"),
    path("<str:reference>/close/", stocktake_closing.close, name="close"),
    path("<str:reference>/lines/<int:number>/", tally_views.settle, name="settle"),
    path("<str:reference>/lines/<int:number>/found/", tally_views.settle_as_found, name="settle_as_found"),
]
