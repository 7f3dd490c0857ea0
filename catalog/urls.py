"""All addresses, room by room."""

from django.urls import include, path

urlpatterns = [
    path("", include("catalog.access.urls")),
    path("pieces/", include("catalog.pieces.urls")),
    path("care/", include("catalog.care.urls")),
    path("storage/", include("catalog.storage.urls")),
    path("stocktake/", include("catalog.desk.stocktake_urls")),
    # Before the loans: the desk hears the address of the pull first.
    path("", include("catalog.desk.urls")),
    path("", include("catalog.loans.urls")),
    path("fitting/", include("catalog.fitting.urls")),
    path("travel/", include("catalog.shipping.urls")),
    path("loans/<str:reference>/pack/", include("catalog.shipping.pack_urls")),
    path("find/", include("catalog.finding.urls")),
    path("tables/", include("catalog.exchange.urls")),
]
