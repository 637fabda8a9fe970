"""The broker made of files: what a worker takes was written whole."""

from queue import Empty
from threading import Thread

import pytest
from kombu import Connection

from config.celery import app
from config.env import file_broker
from config.file_broker import Transport

QUEUE = "celery"
MESSAGES = 400


@pytest.fixture
def channel(tmp_path):
    for folder in ("messages", "control"):
        (tmp_path / folder).mkdir()
    with Connection("filesystem://localhost", transport_options=file_broker(tmp_path)) as connection:
        yield connection.default_channel


def test_the_program_s_own_transport_is_the_one_that_its_address_names(channel):
    assert isinstance(channel.connection, Transport)
    assert type(app.connection_for_write(url="filesystem://localhost").transport) is Transport


class LooksMeanwhile:
    """A payload that looks into the queue while it is being written."""

    def __init__(self, channel):
        self.channel = channel
        self.found = None

    def __json__(self):
        try:
            self.found = self.channel._get(QUEUE)
        except Empty:
            self.found = "nothing"
        return "whole"


def test_a_message_that_is_being_written_is_not_to_be_found(channel):
    payload = LooksMeanwhile(channel)
    channel._put(QUEUE, payload)
    assert payload.found == "nothing"
    assert channel._get(QUEUE) == "whole"


def test_every_message_is_taken_once_and_whole_while_others_are_written(channel):
    def send():
        for number in range(MESSAGES):
            channel._put(QUEUE, {"number": number, "filling": "x" * 5000})

    sender = Thread(target=send)
    sender.start()
    taken = []
    while sender.is_alive() or len(taken) < MESSAGES:
        try:
            taken.append(channel._get(QUEUE)["number"])
        except Empty:
            if not sender.is_alive() and len(taken) >= MESSAGES:
                break
    sender.join()
    assert sorted(taken) == list(range(MESSAGES))
