"""Signing in and out and choosing a password: Django's own views with our forms and pages."""

from django.conf import settings
from django.contrib.auth import views
from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
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


@login_not_required
def admin_door(request: HttpRequest) -> HttpResponse:
    """Lead whoever is not signed in to our own page: the admin has no door of its own to guess at."""
    if request.user.is_authenticated:
        raise PermissionDenied("These pages are the administrator's.")
    return views.redirect_to_login(request.GET.get("next", settings.LOGIN_REDIRECT_URL))
