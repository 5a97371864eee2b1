"""The page of the watch: asks, keeps under a name, takes answers."""

from __future__ import annotations

from fastapi.testclient import TestClient


def test_watch_asks_keeps_and_takes_answers(client: TestClient) -> None:
    """The planted histories ask; kept they stand; an answer without words is refused."""
    page = client.get("/watch").text
    assert "above the high action line" in page
    assert "never answer it with more insulation" in page
    assert page.count("<svg") >= 10
    assert "by the heat balance of the" in page
    assert "cover" in page

    assert client.post("/watch/keep", data={"author": ""}).status_code == 422
    assert client.post("/watch/keep", data={"author": "E. Walker"}).status_code == 303
    kept = client.get("/watch").text
    assert "Nothing new." in kept
    answer = {"tag": "TI-1303", "cause": "above the high action line", "author": "E. Walker"}
    refused = client.post("/watch/answer", data=answer | {"note": "", "how": "close"})
    assert refused.status_code == 422
    assert "say what was found or done" in refused.text
    done = client.post("/watch/answer", data=answer | {"note": "seen", "how": "acknowledge"})
    assert done.status_code == 303
    assert "acknowledged by E. Walker: seen" in client.get("/watch").text
