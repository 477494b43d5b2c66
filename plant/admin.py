"""The admin site: every table can be looked at, none can be written, whatever a person's role.

Facts are written by actions alone; the database would refuse the change of a record anyway.
"""

from __future__ import annotations

from typing import Any

from django.apps import apps
from django.contrib import admin
from django.db import models
from django.http import HttpRequest

OURS = ("plant.", "records.")
# Secrets, and bytes of any length, which no page can show.
HIDDEN = {"password", "pin", "raw", "block", "salt"}


class ReadOnly(admin.ModelAdmin):
    """A table to look at: no row is added, changed or deleted here."""

    show_full_result_count = False
    list_per_page = 50
    actions = None

    def has_add_permission(self, request: HttpRequest, *args: Any) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    @property
    def shown(self) -> list[str]:
        """Columns of the list: everything but secrets, long texts and what would ask the database row by row."""
        plain = [f for f in self.opts.concrete_fields if f.name not in HIDDEN]
        return [f.name for f in plain if not isinstance(f, models.BinaryField | models.TextField | models.ForeignKey)]

    def get_list_display(self, request: HttpRequest) -> Any:
        return self.shown

    def get_fields(self, request: HttpRequest, obj: Any = None) -> Any:
        return [f.name for f in self.opts.concrete_fields if f.name not in HIDDEN]


# This app stands last, so what the framework registered for itself is known here; some of it could be written.
for model in list(admin.site._registry):
    admin.site.unregister(model)
for config in apps.get_app_configs():
    if config.name.startswith(OURS):
        admin.site.register(config.get_models(), ReadOnly)
