"""What holds for every test: no network, and no environment that bends the libraries."""

import socket

import pytest
from hypothesis import settings

# The same examples in every run, so that a red run is red again; other ones with
# `pytest --hypothesis-profile=explore`.
settings.register_profile("explore", deadline=None)
settings.register_profile("repeat", deadline=None, derandomize=True)
settings.load_profile("repeat")


@pytest.fixture(autouse=True)
def _no_network(request, monkeypatch):
    """Refuse every socket but local ones, which the browser driver's own event loop needs."""
    real_connect = socket.socket.connect

    def connect(self, address):
        if self.family == socket.AF_UNIX or (
            isinstance(address, tuple) and address[0] in ("127.0.0.1", "::1", "localhost")
        ):
            return real_connect(self, address)
        raise AssertionError(f"{request.node.nodeid} opened a socket to {address}")

    monkeypatch.setattr(socket.socket, "connect", connect)
