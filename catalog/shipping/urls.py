from django.urls import path

from catalog.shipping import ask_views, pack_views, rule_views

app_name = "shipping"
urlpatterns = [
    path("ask/", ask_views.ask, name="ask"),
    path("rules/", rule_views.rules, name="rules"),
    path("rules/ours/", rule_views.add_rule, name="add_rule"),
    path("rules/<str:code>/change/", rule_views.change_rule, name="change_rule"),
    path("rules/<str:code>/drop/", rule_views.drop_rule, name="drop_rule"),
    path("crates/", pack_views.crate_kinds, name="crate_kinds"),
    path("crates/add/", pack_views.add_crate_kind, name="add_crate_kind"),
    path("crates/<str:code>/", pack_views.edit_crate_kind, name="edit_crate_kind"),
]
