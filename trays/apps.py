from django.apps import AppConfig


class TraysConfig(AppConfig):
    name = "trays"
    verbose_name = "Trays"
