from django.apps import AppConfig


class ImplantsConfig(AppConfig):
    name = "implants"
    verbose_name = "Implants"
