"""The pages that pair a device and revoke it."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from argentry.errors import BadInput
from argentry.keeping.sensors.devices import device_name, list_devices, new_device, revoke_device
from argentry.web.api.runs import caller_of
from argentry.web.guard import COOKIE
from argentry.web.limits import Refused
from argentry.web.pages.desk import form_of, page

router = APIRouter(include_in_schema=False)
COOKIE_SECONDS = 400 * 86400  # browsers keep none longer (RFC 6265bis)


def _address(request: Request) -> str:
    return "" if request.client is None else request.client.host


@router.get("/pair")
async def pair(request: Request) -> Response:
    """Ask for the code that the host's screen shows."""
    return page(request, "pair.html", {"problem": "", "shown": False})


@router.post("/pair/code")
async def ask_code(request: Request) -> Response:
    """Show a new code on the host's screen."""
    state = request.app.state
    by_host = caller_of(request).scope == "host"
    code = state.pairing.new_code(by_host=by_host, address=_address(request))
    if by_host:
        return page(request, "devices.html", await _devices(request, code))
    return page(request, "pair.html", {"problem": "", "shown": True})


@router.post("/pair")
async def use_code(request: Request) -> Response:
    """Let a device in that knows the code."""
    state, form = request.app.state, await form_of(request)
    try:
        name = device_name("name", form.get("name", ""))
        state.pairing.redeem(form.get("code", ""), _address(request))
    except (Refused, BadInput) as error:
        status = error.status if isinstance(error, Refused) else 422
        return page(request, "pair.html", {"problem": str(error), "shown": True}, status)
    _, token = await run_in_threadpool(new_device, state.house.book, name, "bench")
    state.devices.forget()
    answer = RedirectResponse("/", status_code=303)
    answer.set_cookie(
        COOKIE,
        token,
        max_age=COOKIE_SECONDS,
        httponly=True,
        samesite="strict",
        secure=request.url.scheme == "https",
    )
    return answer


async def _devices(request: Request, code: str = "") -> dict[str, Any]:
    found = await run_in_threadpool(list_devices, request.app.state.house.book)
    wrong = request.app.state.pairing.wrong_today()
    return {"devices": found.devices, "code": code, "wrong": wrong}


@router.get("/devices")
async def devices(request: Request) -> Response:
    """Show the devices that were let in. Only the host itself may see them."""
    return page(request, "devices.html", await _devices(request))


@router.post("/devices/revoke")
async def revoke(request: Request) -> Response:
    """Shut a device out. Only the host itself may do it."""
    form = await form_of(request)
    await run_in_threadpool(revoke_device, request.app.state.house.book, form.get("device", ""))
    request.app.state.devices.forget()
    request.app.state.broadcast.revoked()
    return RedirectResponse("/devices", status_code=303)


@router.get("/ca.crt")
async def authority(request: Request) -> Response:
    """Return the certificate of the studio's own authority, to be installed on a tablet."""
    file = request.app.state.house.studio_dir / "tls" / "ca.crt"
    if not (request.app.state.settings.tls and file.is_file()):
        raise Refused(404, "This server speaks plain HTTP; start it with --tls to have one.")
    return Response(
        await run_in_threadpool(file.read_bytes),
        media_type="application/x-x509-ca-cert",
        headers={"Content-Disposition": 'attachment; filename="argentry-ca.crt"'},
    )
