"""Signing in and out and choosing a password: Django's own views with our forms and pages."""

from django.conf import settings
from django.contrib.auth import views
from django.urls import reverse_lazy

from seedbank.members.forms import ResetForm, SignInForm

# All but the change of password are open to people who are not signed in: Django marks them so.
sign_in = views.LoginView.as_view(
    template_name="registration/sign_in.html",
    authentication_form=SignInForm,
    redirect_authenticated_user=True,
)
sign_out = views.LogoutView.as_view()
reset = views.PasswordResetView.as_view(
    template_name="registration/reset.html",
    form_class=ResetForm,
    email_template_name="registration/reset_mail.txt",
    subject_template_name="registration/reset_subject.txt",
    extra_email_context={
        "site_address": settings.SITE_ADDRESS,
        "society_name": settings.SOCIETY_NAME,
    },
    success_url=reverse_lazy("password-reset-sent"),
)
reset_sent = views.PasswordResetDoneView.as_view(template_name="registration/reset_sent.html")
reset_confirm = views.PasswordResetConfirmView.as_view(
    template_name="registration/choose_password.html",
    success_url=reverse_lazy("home"),
    post_reset_login=True,
)
change_password = views.PasswordChangeView.as_view(
    template_name="registration/change_password.html", success_url=reverse_lazy("profile")
)
