"""Who may ask the local page, and what its answers carry."""

from __future__ import annotations

import anyio
import pytest
from starlette.testclient import TestClient

from explorer.web.safety import LONGEST_ADDRESS, POLICY, Guard, refused


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1", "127.0.0.1:80", "evil.example:8765"])
def test_another_host_name_is_refused(page: TestClient, host: str) -> None:
    """As after DNS rebinding: the browser believes that evil.example is this computer."""
    assert page.get("/", headers={"host": host}).status_code == 421


@pytest.mark.parametrize("host", ["127.0.0.1:8765", "localhost:8765"])
def test_own_names_are_let_in(page: TestClient, host: str) -> None:
    assert page.get("/", headers={"host": host}).status_code == 200


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_a_request_that_another_site_makes_is_refused(page: TestClient, site: str) -> None:
    assert page.get("/", headers={"sec-fetch-site": site}).status_code == 403


@pytest.mark.parametrize("site", ["none", "same-origin"])
def test_typed_addresses_and_own_links_are_let_in(page: TestClient, site: str) -> None:
    assert page.get("/", headers={"sec-fetch-site": site}).status_code == 200


@pytest.mark.parametrize("path", ["/", "/nope", "/style.css", "/position?line=e4+Qh8", "/save"])
def test_every_answer_carries_the_same_protection(page: TestClient, path: str) -> None:
    headers = page.get(path).headers
    assert headers["content-security-policy"] == POLICY
    assert headers["cross-origin-resource-policy"] == "same-origin"
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "no-referrer"
    assert "access-control-allow-origin" not in headers


def test_the_policy_lets_nothing_inline_run() -> None:
    assert "default-src 'none'" in POLICY
    assert "frame-ancestors 'none'" in POLICY
    assert "unsafe" not in POLICY


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "OPTIONS"])
def test_pages_can_be_asked_for_and_no_more(page: TestClient, method: str) -> None:
    assert page.request(method, "/").status_code == 405


def test_an_endless_address_is_refused(page: TestClient) -> None:
    assert page.get("/position?line=" + "e4+" * LONGEST_ADDRESS).status_code == 414


def test_there_are_no_web_sockets(page: TestClient) -> None:
    sent: list[object] = []

    async def send(message: object) -> None:
        sent.append(message)

    async def receive() -> dict[str, str]:
        return {"type": "websocket.connect"}

    anyio.run(Guard(refuse), {"type": "websocket"}, receive, send)
    assert sent == []


async def refuse(*message: object) -> None:
    raise AssertionError("a web socket was let in")


def test_at_the_usual_port_of_the_web_the_name_alone_is_enough() -> None:
    scope = {
        "type": "http",
        "method": "GET",
        "server": ("127.0.0.1", 80),
        "headers": [(b"host", b"localhost")],
        "raw_path": b"/",
        "query_string": b"",
    }
    assert refused(scope) is None


def test_two_host_names_are_one_too_many() -> None:
    scope = {
        "type": "http",
        "method": "GET",
        "server": ("127.0.0.1", 8765),
        "headers": [(b"host", b"127.0.0.1:8765"), (b"host", b"evil.example")],
        "raw_path": b"/",
        "query_string": b"",
    }
    assert refused(scope) is not None
