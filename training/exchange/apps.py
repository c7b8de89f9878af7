from django.apps import AppConfig


class ExchangeConfig(AppConfig):
    name = "training.exchange"
    default_auto_field = "django.db.models.BigAutoField"
