"""A port of this computer that nobody but this computer can reach."""

from __future__ import annotations

import socket

from host_tools.link.errors import LinkError

LOOPBACK = "127.0.0.1"


def listening(port: int, backlog: int = 128) -> socket.socket:
    """A socket that listens there; port 0: on any that is free. So many who come at once wait.

    Raises LinkError (`port-busy`) if the port is taken.
    """
    here = socket.socket()
    here.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        here.bind((LOOPBACK, port))
    except OSError as error:
        here.close()
        raise LinkError("port-busy", f"TCP port {port} is in use by another program") from error
    here.listen(backlog)
    return here
