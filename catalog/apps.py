"""The one app of the project: rooms are sub-packages, never apps of their own."""

from django.apps import AppConfig
from django.db.models.signals import post_migrate, pre_migrate


class CatalogConfig(AppConfig):
    name = "catalog"
    verbose_name = "Wrapkeep"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from catalog.access.duties import ensure_groups_after_migrate
        from catalog.core import frozen
        from catalog.core.triggers import install_after_migrate

        pre_migrate.connect(frozen.lift_before_migrate, sender=self, dispatch_uid="catalog.lift-frozen")
        post_migrate.connect(frozen.install_after_migrate, sender=self, dispatch_uid="catalog.frozen")
        post_migrate.connect(install_after_migrate, sender=self, dispatch_uid="catalog.history-triggers")
        post_migrate.connect(ensure_groups_after_migrate, sender=self, dispatch_uid="catalog.duty-groups")
