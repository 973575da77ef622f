"""What the views of packages answer: the second part of the checked-in table."""

from __future__ import annotations

from tests.architecture.answers import OPEN, SIGNED_IN, Answers, Row, answers

# Views of packages, by namespace: what they answer depends on being signed in, never on a role.
# Here `takes` are the arguments themselves.
TO_SIGN_IN: Answers = (302, 302, 302, 302, 302)
AGAIN = TO_SIGN_IN  # signed in or not: give the password again first
HOME_IF_SIGNED_IN: Answers = (200, 302, 302, 302, 302)
NOT_TAKEN: Answers = (405, 405, 405, 405, 405)
NOT_TAKEN_SIGNED_IN = answers(SIGNED_IN, 405)
NOT_SET_UP = answers(SIGNED_IN, 404)
PACKAGES: dict[str, dict[str, Row]] = {
    "allauth": {
        "account_login": Row(HOME_IF_SIGNED_IN, HOME_IF_SIGNED_IN),
        "account_logout": Row(SIGNED_IN, TO_SIGN_IN),
        "account_inactive": Row(OPEN, NOT_TAKEN),
        "account_signup": Row(HOME_IF_SIGNED_IN, HOME_IF_SIGNED_IN),
        "account_reauthenticate": Row(SIGNED_IN, SIGNED_IN),
        "account_email": Row(SIGNED_IN, TO_SIGN_IN),
        "account_email_verification_sent": Row(OPEN, NOT_TAKEN),
        "account_change_password": Row(SIGNED_IN, SIGNED_IN),
        "account_set_password": Row(TO_SIGN_IN, TO_SIGN_IN),
        "account_reset_password": Row(OPEN, OPEN),
        "account_reset_password_done": Row(OPEN, NOT_TAKEN),
        "account_reset_password_from_key": Row(OPEN, OPEN, takes=("1", "abc-def")),
        "account_reset_password_from_key_done": Row(OPEN, NOT_TAKEN),
        "account_confirm_login_code": Row(TO_SIGN_IN, TO_SIGN_IN),
        "account_confirm_email": Row(OPEN, (404, 404, 404, 404, 404), takes=("unknown",)),
        "mfa_index": Row(SIGNED_IN, NOT_TAKEN_SIGNED_IN),
        "mfa_authenticate": Row(TO_SIGN_IN, TO_SIGN_IN),
        "mfa_reauthenticate": Row(AGAIN, AGAIN),
        "mfa_activate_totp": Row(AGAIN, AGAIN),
        "mfa_deactivate_totp": Row(NOT_SET_UP, NOT_SET_UP),
        "mfa_view_recovery_codes": Row(NOT_SET_UP, NOT_TAKEN_SIGNED_IN),
        "mfa_generate_recovery_codes": Row(AGAIN, AGAIN),
        "mfa_download_recovery_codes": Row(NOT_SET_UP, NOT_SET_UP),
        "mfa_list_webauthn": Row(SIGNED_IN, NOT_TAKEN_SIGNED_IN),
        "mfa_add_webauthn": Row(AGAIN, AGAIN),
        "mfa_reauthenticate_webauthn": Row(AGAIN, AGAIN),
        "mfa_remove_webauthn": Row(AGAIN, AGAIN, takes=("1",)),
        "mfa_edit_webauthn": Row(AGAIN, AGAIN, takes=("1",)),
        "usersessions_list": Row(SIGNED_IN, TO_SIGN_IN),
    }
}
