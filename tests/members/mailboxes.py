"""Ways in which mail does not arrive."""

import smtplib

from django.core.mail.backends.locmem import EmailBackend


class FullMailbox(EmailBackend):
    """A server that takes mail for everybody but Tansy."""

    def send_messages(self, messages):
        if messages[0].to == ["tansy@example.org"]:
            raise smtplib.SMTPRecipientsRefused({"tansy@example.org": (452, b"mailbox full")})
        return super().send_messages(messages)


class NoServer(EmailBackend):
    """A server that does not answer."""

    def open(self):
        raise ConnectionRefusedError("[Errno 111] Connection refused")
