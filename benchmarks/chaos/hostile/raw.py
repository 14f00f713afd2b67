"""Bytes that no client would send; {port} stands for the server's port."""

# ruff: noqa: E501 - one case stands on one line where it can

GET = b"GET /api/runs HTTP/1.1\r\nHost: localhost:{port}\r\n"
POST = (
    b"POST /api/readings HTTP/1.1\r\nHost: localhost:{port}\r\nOrigin: http://localhost:{port}\r\n"
)
JSON = b"Content-Type: application/json\r\n"
RAW = {
    "nothing but zeros": bytes(5000),
    "every byte": bytes(range(256)) * 40,
    "a greeting of TLS": b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03" + bytes(600),
    "the preface of HTTP/2": b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n" + bytes(90),
    "HTTP/0.9": b"GET /\r\n\r\n",
    "a version that is none": b"GET / HTTP/7.4\r\nHost: localhost\r\n\r\n",
    "a word that is no version": b"GET / HARM\r\n\r\n",
    "no host": b"GET /api/runs HTTP/1.1\r\n\r\n",
    "two hosts": GET + b"Host: evil.example\r\n\r\n",
    "a line of a megabyte": b"GET /" + b"a" * 2**20 + b" HTTP/1.1\r\n\r\n",
    "a header of a megabyte": GET + b"X: " + b"a" * 2**20 + b"\r\n\r\n",
    "a hundred thousand headers": GET + b"X: 1\r\n" * 100_000 + b"\r\n",
    "a header without a colon": GET + b"harm\r\n\r\n",
    "a header with a zero": GET + b"X: \x00\r\n\r\n",
    "a header folded over lines": GET + b"X: a\r\n b\r\n\r\n",
    "a space before the colon": POST + JSON + b"Content-Length : 2\r\n\r\n{}",
    "a line feed alone": b"GET /api/runs HTTP/1.1\nHost: evil.example\n\n",
    "two lengths": POST + JSON + b"Content-Length: 2\r\nContent-Length: 40\r\n\r\n{}",
    "a length and pieces": POST + JSON + b"Content-Length: 2\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n",
    "a length with a sign": POST + JSON + b"Content-Length: +2\r\n\r\n{}",
    "a length of 400 digits": POST + JSON + b"Content-Length: " + b"9" * 400 + b"\r\n\r\n{}",
    "pieces of an unknown kind": POST + JSON + b"Transfer-Encoding: gzip, chunked\r\n\r\n0\r\n\r\n",
    "a piece of a size that is none": POST + JSON + b"Transfer-Encoding: chunked\r\n\r\nzz\r\n{}\r\n0\r\n\r\n",
    "a piece of an endless size": POST + JSON + b"Transfer-Encoding: chunked\r\n\r\n" + b"f" * 300 + b"\r\n",
    "a piece with a long extension": POST + JSON + b"Transfer-Encoding: chunked\r\n\r\n1;" + b"a" * 200_000,
    "a method of a thousand letters": b"A" * 1000 + b" / HTTP/1.1\r\nHost: localhost:{port}\r\n\r\n",
    "a method with a space": b"GET  / HTTP/1.1\r\nHost: localhost:{port}\r\n\r\n",
    "a whole address of another": b"GET http://evil.example/ HTTP/1.1\r\nHost: evil.example\r\n\r\n",
    "a tunnel": b"CONNECT evil.example:443 HTTP/1.1\r\nHost: evil.example\r\n\r\n",
    "an upgrade to a socket": b"GET /api/runs HTTP/1.1\r\nHost: evil.example\r\nConnection: Upgrade\r\n"
    b"Upgrade: websocket\r\nSec-WebSocket-Version: 13\r\nSec-WebSocket-Key: eA==\r\n\r\n",
    "a trace": b"TRACE /api/runs HTTP/1.1\r\nHost: localhost:{port}\r\n\r\n",
    "letters that are not ASCII in a path": b"GET /\xff\xfe HTTP/1.1\r\nHost: localhost:{port}\r\n\r\n",
    "an escape in a path": b"GET /\x1b[31m HTTP/1.1\r\nHost: localhost:{port}\r\n\r\n",
    "a body too deep": POST + JSON + b"Content-Length: 60000\r\n\r\n" + b"[" * 60_000,
    "a body that bursts when unpacked": POST + JSON + b"Content-Encoding: gzip\r\nContent-Length: 20\r\n\r\n"
    + bytes(20),
    "two requests, the second of another host": b"BREW / HTTP/1.1\r\nHost: localhost:{port}\r\n\r\n"
    b"GET /api/runs HTTP/1.1\r\nHost: evil.example\r\n\r\n",
}  # fmt: skip
