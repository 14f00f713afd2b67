"""The allocator makes few arenas; counted by malloc_info(3) of the GNU C library itself."""

import platform
import subprocess
import sys

import pytest

COUNT = """
import ctypes, threading
{first}
libc = ctypes.CDLL(None)
libc.fopen.restype = libc.malloc.restype = ctypes.c_void_p
def take():
    for _ in range(50):
        libc.malloc(5000)
    together.wait()
together = threading.Barrier(8)
threads = [threading.Thread(target=take) for _ in range(8)]
for one in threads: one.start()
for one in threads: one.join()
file = libc.fopen(b"/dev/stdout", b"w")
libc.malloc_info(0, ctypes.c_void_p(file))
libc.fflush(ctypes.c_void_p(file))
"""
FEW = "from argentry.web.run import keep_few_arenas; keep_few_arenas()"


def arenas(first):
    words = [sys.executable, "-c", COUNT.format(first=first)]
    said = subprocess.run(words, capture_output=True, text=True, check=True).stdout
    return said.count("<heap nr=")


@pytest.mark.skipif(platform.libc_ver()[0] != "glibc", reason="NOT THE GNU C LIBRARY: no arenas")
def test_threads_share_two_arenas():
    assert arenas("") > 2  # the same threads without it
    assert arenas(FEW) <= 2
