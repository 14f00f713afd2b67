"""A port for a server that is started, ended and started again."""

import random
import socket

# below those that the system hands to whoever connects, so that nobody takes one meanwhile
LOW, HIGH = 20_000, 32_000


def free_port() -> int:
    """Return a port of this machine that nobody listens on."""
    for port in random.SystemRandom().sample(range(LOW, HIGH), 100):
        with socket.socket() as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind(("127.0.0.1", port))
            except OSError:
                continue
            return port
    raise OSError("a hundred ports are taken")
