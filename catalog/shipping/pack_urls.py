from django.urls import path

from catalog.shipping import pack_paper_views, pack_views

app_name = "pack"
urlpatterns = [
    path("", pack_views.pack, name="pack"),
    path("take/", pack_views.take, name="take"),
    path("put/", pack_views.put, name="put"),
    path("travel/", pack_views.travel, name="travel"),
    path("labels/", pack_paper_views.labels, name="labels"),
    path("list.pdf", pack_paper_views.list_pdf, name="list_pdf"),
    path("list.csv", pack_paper_views.list_csv, name="list_csv"),
    path("<int:number>/", pack_views.crate, name="crate"),
]
