"""The admin site shows every table to those who may look at everything, and writes none."""

import pytest
from django.apps import apps
from django.contrib import admin
from django.urls import reverse

from plant.admin import HIDDEN, OURS
from tests import builders
from tests.records.floor.told import tablet

pytestmark = pytest.mark.django_db
TABLES = [model for config in apps.get_app_configs() if config.name.startswith(OURS) for model in config.get_models()]


def address(model: type, page: str, *args: object) -> str:
    return reverse(f"admin:{model._meta.app_label}_{model._meta.model_name}_{page}", args=args)


@pytest.fixture
def world():
    builders.a_works()
    builders.a_finished_frame("X1")


def test_every_table_can_be_looked_at_and_nothing_is_added(world):
    client = tablet("manager")
    assert [m for m in TABLES if client.get(address(m, "changelist")).status_code != 200] == []
    assert [m for m in TABLES if client.get(address(m, "add")).status_code != 403] == []


def test_a_row_is_shown_without_secrets_and_neither_changed_nor_deleted(world):
    client = tablet("manager")
    for model in TABLES:
        row = model._base_manager.first()
        if row is None:
            continue
        page = client.get(address(model, "change", row.pk))
        assert page.status_code == 200, model
        assert not any(f'field-{name}"' in page.content.decode() for name in HIDDEN), model
        assert client.post(address(model, "change", row.pk), {}).status_code == 403, model
        assert client.post(address(model, "delete", row.pk), {"post": "yes"}).status_code == 403, model


def test_no_table_of_the_framework_is_writable_either():
    assert set(admin.site._registry) == set(TABLES)


@pytest.mark.parametrize(
    ("role", "let"), [("operator", False), ("stores", False), ("engineer", True), ("auditor", True)]
)
def test_only_who_may_look_at_everything_comes_in(world, role, let):
    assert (tablet(role).get("/admin/").status_code == 200) is let
