from django.urls import path

from seedbank.members.views import mails, profile, sign_in

urlpatterns = [
    path("sign-in/", sign_in.sign_in, name="sign-in"),
    path("sign-out/", sign_in.sign_out, name="sign-out"),
    path("password/", sign_in.change_password, name="password-change"),
    path("password/new/", sign_in.reset, name="password-reset"),
    path("password/new/sent/", sign_in.reset_sent, name="password-reset-sent"),
    path("password/new/<uidb64>/<token>/", sign_in.reset_confirm, name="password-reset-confirm"),
    path("mails/", mails.unsent, name="mails-unsent"),
    path("mails/again/", mails.again, name="mails-again"),
    path("you/", profile.profile, name="profile"),
    path("you/address/", profile.address, name="profile-address"),
    path("you/keys/", profile.add_token, name="token-add"),
    path("you/keys/<int:key>/revoke/", profile.drop_token, name="token-revoke"),
]
