"""Logins by command: made, given other duties, closed."""

import io
import re

import pytest
from django.core.management import CommandError, call_command
from django.test import Client

from catalog.access.duties import Duty, duties_of
from catalog.access.models import User


def run(*words: str) -> str:
    told = io.StringIO()
    call_command("add_person", *words, stdout=told)
    return told.getvalue()


@pytest.mark.django_db
def test_a_login_works_with_the_password_that_is_shown_once() -> None:
    told = run("nora", "--duty", "archivist", "--duty", "production")
    password = re.search(r"once: (\S+)", told)
    assert password
    user = User.objects.get(username="nora")
    assert duties_of(user) == {Duty.ARCHIVIST, Duty.PRODUCTION}
    answer = Client().post("/sign-in/", {"username": "nora", "password": password[1]})
    assert answer.status_code == 302


@pytest.mark.django_db
def test_a_login_that_stands_gets_other_duties_and_none_doubles() -> None:
    run("nora", "--duty", "archivist")
    run("Nora", "--duty", "visitor")
    assert duties_of(User.objects.get()) == {Duty.VISITOR}


@pytest.mark.django_db
def test_a_closed_login_stays_in_the_history_and_cannot_sign_in() -> None:
    run("nora", "--duty", "archivist")
    run("nora", "--close")
    assert not User.objects.get(username="nora").is_active


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["bad name!", "--duty", "visitor"], "cannot be a login"),
        (["nora"], "at least one"),
        (["x", "--close"], "no login"),
    ],
)
def test_wrong_words_get_one_sentence(words: list[str], sentence: str) -> None:
    with pytest.raises(CommandError, match=sentence):
        run(*words)
    assert not User.objects.exists()
