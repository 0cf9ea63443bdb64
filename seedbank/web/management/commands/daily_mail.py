"""Mail the day's work to those who want it; run it every morning, again does no harm."""

from typing import Any

from django.core.management.base import BaseCommand

from crosses.base.clock import now, today
from crosses.base.sending import clear_sent_forms
from seedbank.web.daily_mail import send_daily_mails


class Command(BaseCommand):
    help = "Mail the day's work to the members who want it, once a day whatever how often it runs."

    def handle(self, **options: Any) -> None:
        clear_sent_forms(at=now())
        sent = send_daily_mails(today=today(), at=now())
        self.stdout.write(f"{sent} mail{'' if sent == 1 else 's'}.")
