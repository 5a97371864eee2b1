"""The page of metal at temperature."""

from __future__ import annotations

from fastapi.testclient import TestClient


def test_metal_is_told_on_the_page(client: TestClient) -> None:
    """States with marks, creep with its span; the form keeps what was typed."""
    data = {
        "alloy": "304H", "times-0-name": "run", "times-0-time": "40000 h",
        "times-0-temperature": "700 C", "times-0-stress": "18 MPa",
    }  # fmt: skip
    assert client.get("/calculator/metal").status_code == 200
    page = client.post("/calculator/metal", data=data).text

    assert "▲ expected" in page
    assert "Creep life fraction" in page
    assert 'value="40000 h"' in page
    refused = client.post("/calculator/metal", data=data | {"times-0-temperature": "2400 C"})
    assert refused.status_code == 422
    assert "Check the unit" in refused.text
