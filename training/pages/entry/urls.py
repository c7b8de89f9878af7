from django.urls import path

from training.pages.entry import account, closing, reset, signing_in, staying, views

urlpatterns = [
    path("", views.Home.as_view(), name="home"),
    path("sign-in/", signing_in.SignIn.as_view(), name="sign-in"),
    path("sign-in/code/", signing_in.SignInCode.as_view(), name="sign-in-code"),
    path("sign-out/", signing_in.SignOut.as_view(), name="sign-out"),
    path("place/", views.ChoosePlace.as_view(), name="place"),
    path("stay/", staying.Stay.as_view(), name="stay-signed-in"),
    path("new-password/<uidb64>/<token>/", reset.NewPassword.as_view(), name="new-password"),
    path("account/", account.Account.as_view(), name="account"),
    path("account/password/", account.ChangePassword.as_view(), name="account-password"),
    path("account/second-factor/", account.SecondFactor.as_view(), name="second-factor"),
    path("account/second-factor/off/", account.SecondFactorOff.as_view(), name="second-factor-off"),
    path("account/recovery-codes/", account.NewRecoveryCodes.as_view(), name="recovery-codes"),
    path("account/passkeys/new/", account.NewPasskey.as_view(), name="passkey-new"),
    path("account/passkeys/keep/", account.KeepPasskey.as_view(), name="passkey-keep"),
    path("account/passkeys/<int:passkey>/off/", account.PasskeyOff.as_view(), name="passkey-off"),
    path("members/<uuid:member>/account/", closing.MemberAccount.as_view(), name="member-account"),
    path("members/second-factor/", closing.RequireSecondFactor.as_view(), name="second-factor-required"),
    path("account/sign-out-everywhere/", account.SignOutEverywhere.as_view(), name="sign-out-everywhere"),
]
