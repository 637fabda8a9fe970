"""Make and end the private address of a person's calendar."""

import secrets
from datetime import datetime, timedelta

from django.contrib.auth import get_user_model
from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from locates.models import CalendarFeed
from locates.models.calendar_feed import token_hash

SECRET_BYTES = 32
READ_NOTED_EVERY = timedelta(minutes=15)


def make_address(person: AbstractBaseUser, *, followed_only: bool, at: datetime) -> str:
    """The secret part of a new address, given this once; the one before ends with it."""
    token = secrets.token_urlsafe(SECRET_BYTES)
    with transaction.atomic():
        # Two clicks at once: the second waits, and ends the address of the first.
        get_user_model().objects.select_for_update().get(pk=person.pk)
        CalendarFeed.objects.revoke(person.pk, at)
        CalendarFeed.objects.create(person=person, token_hash=token_hash(token), followed_only=followed_only)
    return token


def end_address(person: AbstractBaseUser, *, at: datetime) -> bool:
    """Whether there was an address in use, which leads nowhere from now on."""
    return bool(CalendarFeed.objects.revoke(person.pk, at))


def feed_behind(token: str, at: datetime) -> CalendarFeed | None:
    """The feed of a token, where it is in use and its person may still look at tickets.

    That it was read is noted now and then alone: a program that asks every minute costs no write.
    """
    feed = CalendarFeed.objects.of_token(token)
    if feed is None or not feed.person.is_active or not feed.person.has_perm("locates.view_ticket"):
        return None
    if feed.read_at is None or at - feed.read_at > READ_NOTED_EVERY:
        CalendarFeed.objects.filter(pk=feed.pk).update(read_at=at)
    return feed
