from django.urls import path

from catalog.shipping import pack_views, views

app_name = "shipping"
urlpatterns = [
    path("rules/", views.rules, name="rules"),
    path("crates/", pack_views.crate_kinds, name="crate_kinds"),
    path("crates/add/", pack_views.add_crate_kind, name="add_crate_kind"),
    path("crates/<str:code>/", pack_views.edit_crate_kind, name="edit_crate_kind"),
]
