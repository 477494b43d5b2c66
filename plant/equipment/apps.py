from django.apps import AppConfig


class EquipmentConfig(AppConfig):
    name = "plant.equipment"
