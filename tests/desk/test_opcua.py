"""Live readings: read from a server on this machine, written to the drop folder, taken."""

import asyncio
import builtins
import csv
import datetime as dt
import socket
import threading
import time

import pytest

from takeup.desk import feeds, opcua, record
from takeup.desk.site import create
from takeup.errors import BadFile, Refused, TakeupError
from takeup.evidence.facts import TemperatureSeries
from tests.register.samples import small

pytest.importorskip("asyncua")


class Server:
    """A server with two bellows temperatures, in a thread of its own."""

    def __init__(self, port):
        self.port = port
        self.ready, self.done = threading.Event(), threading.Event()
        self.thread = threading.Thread(target=lambda: asyncio.run(self._run()), daemon=True)

    def __enter__(self):
        self.thread.start()
        assert self.ready.wait(20), "the server did not come up"
        return self

    def __exit__(self, *_):
        self.done.set()
        self.thread.join(20)

    async def _run(self):
        from asyncua import Server as Made
        from asyncua import ua

        server = Made()
        await server.init()
        server.set_endpoint(f"opc.tcp://127.0.0.1:{self.port}")
        server.set_security_policy([ua.SecurityPolicyType.NoSecurity])
        space = await server.register_namespace("urn:test")
        folder = await server.nodes.objects.add_object(space, "bellows")
        await folder.add_variable(ua.NodeId("TI-1", space), "TI-1", 301.5)
        broken = await folder.add_variable(ua.NodeId("TI-2", space), "TI-2", 0.0)
        async with server:
            await broken.write_value(
                ua.DataValue(
                    ua.Variant(0.0), StatusCode=ua.StatusCode(ua.StatusCodes.BadSensorFailure)
                )
            )
            self.ready.set()
            while not self.done.is_set():
                await asyncio.sleep(0.02)


def free_port():
    """A port that is free."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return free.getsockname()[1]


@pytest.fixture(scope="module")
def port():
    """The port of a server for all tests."""
    with Server(free_port()) as server:
        yield server.port


class Cable:
    """A way to a server that can be cut and mended."""

    def __init__(self, to):
        self.to, self.port = to, free_port()
        self.loop = asyncio.new_event_loop()
        self.thread = threading.Thread(target=self.loop.run_forever, daemon=True)
        self.thread.start()
        self.ways, self.whole = set(), True
        self._do(self._open())

    def _do(self, work):
        return asyncio.run_coroutine_threadsafe(work, self.loop).result(10)

    async def _open(self):
        self.server = await asyncio.start_server(self._carry, "127.0.0.1", self.port)

    async def _carry(self, reader, writer):
        if not self.whole:
            writer.close()
            return
        far_reader, far_writer = await asyncio.open_connection("127.0.0.1", self.to)
        self.ways |= {writer, far_writer}

        async def pump(source, sink):
            try:
                while data := await source.read(65536):
                    sink.write(data)
            except OSError:
                pass
            finally:
                sink.close()

        await asyncio.gather(pump(reader, far_writer), pump(far_reader, writer))

    def cut(self):
        """Drop what runs over it, and let nothing through."""
        self.whole = False
        self._do(self._drop())

    async def _drop(self):
        for way in self.ways:
            way.transport.abort()
        self.ways.clear()

    def mend(self):
        """Let through what comes."""
        self.whole = True

    def close(self):
        """Take it away."""
        self.cut()
        self.server.close()
        self.loop.call_soon_threadsafe(self.loop.stop)
        self.thread.join(10)
        self.loop.close()


def task(tmp_path, port, more="", nodes=None):
    """A file that says what to listen to."""
    nodes = nodes or {"TI-1": "C", "TI-2": "C"}
    path = tmp_path / "listen.toml"
    path.write_text(
        f'endpoint = "opc.tcp://127.0.0.1:{port}"\nsecurity = "None"\nfolder = "drop"\n'
        "every = 0.1\nbatch = 1\n" + more
        + "".join(f'[nodes."ns=2;s={t}"]\ntag = "{t}"\nunit = "{u}"\n' for t, u in nodes.items())
    )  # fmt: skip
    return opcua.read(path)


def rows(folder):
    """All rows of the batches in a folder."""
    made = []
    for path in sorted(folder.glob("*.csv")):
        with path.open(newline="") as stream:
            made += list(csv.DictReader(stream))
    return made


def test_values_with_their_quality_go_the_one_road_in(tmp_path, port):
    """Batches lie in the drop folder; taken, they join the history, the bad ones as bad."""
    done = opcua.listen(task(tmp_path, port), seconds=1.5)
    found = rows(tmp_path / "drop")

    assert done.connections == 1
    assert len(done.files) >= 2
    assert done.readings == len(found) >= 10
    assert done.good == done.readings / 2
    assert {(row["tag"], row["value"], row["unit"], row["quality"]) for row in found} == {
        ("TI-1", "301.5", "C", "good"),
        ("TI-2", "", "C", "bad"),
    }
    plant, *others = small()
    with create(tmp_path / "site", plant, author="A") as site:
        with site.change("A", "import") as change:
            change.put_many(others)
        first = tmp_path / "first.csv"
        first.write_text("time,value\n2026-01-01 00:00Z,300\n2026-01-01 01:00Z,301\n")
        for tag in ("TI-1", "TI-2"):
            record.temperature_file(site, first, tag=tag, joint="EJ-1", unit="C", author="A")
        report = feeds.take(site, tmp_path / "drop", "A", settle=0)
        assert {one.outcome for one in report.files} == {feeds.Outcome.TAKEN}
        assert report.new == done.readings
        kept = site.register().get(TemperatureSeries, "TI-2")
        assert kept.bad == done.readings / 2
        assert kept.last > dt.datetime.now(dt.UTC) - dt.timedelta(minutes=1)


def test_a_lost_server_is_connected_again_and_nothing_read_is_lost(tmp_path, port, monkeypatch):
    """What was read before is written at once; reading goes on when the server is back."""
    monkeypatch.setattr(opcua, "FIRST_WAIT", 0.1)
    monkeypatch.setattr(opcua, "PATIENCE", 1.0)
    cable = Cable(port)
    asked = task(tmp_path, cable.port)
    stop, result, said = threading.Event(), [], []
    listening = threading.Thread(
        target=lambda: result.append(opcua.listen(asked, stop=stop, seconds=60, tell=said.append))
    )
    listening.start()
    wait_for(lambda: rows(tmp_path / "drop"))
    cable.cut()
    wait_for(lambda: any("connection lost" in words for words in said))
    before = len(rows(tmp_path / "drop"))
    cable.mend()
    wait_for(lambda: "connected again" in said)
    wait_for(lambda: len(rows(tmp_path / "drop")) > before)
    stop.set()
    listening.join(15)
    cable.close()

    assert not listening.is_alive()
    assert result[0].connections == 2
    assert result[0].lost > 0
    assert result[0].readings == len(rows(tmp_path / "drop"))


def test_a_clock_of_the_server_that_is_off_is_told(tmp_path, port, monkeypatch):
    """Readings get the time of this machine; how far the server is off is said once."""
    real = opcua._now
    monkeypatch.setattr(opcua, "_now", lambda: real() + dt.timedelta(hours=1))
    done = opcua.listen(task(tmp_path, port), seconds=0.5)
    assert len(done.notes) == 1
    assert done.notes[0].startswith("the clock of the server is -36")


def wait_for(done, patience=15.0):
    """Wait until something is so."""
    until = time.monotonic() + patience
    while not done():
        assert time.monotonic() < until, "waited too long"
        time.sleep(0.05)


def test_a_node_that_the_server_does_not_know_is_no_bad_reading(tmp_path, port):
    """It is a wrong name in the file, and said at once."""
    with pytest.raises(TakeupError, match="knows no node ns=2;s=TI-9, said to be"):
        opcua.listen(task(tmp_path, port, nodes={"TI-1": "C", "TI-9": "C"}), seconds=1)
    assert rows(tmp_path / "drop") == []


def test_no_server_and_no_library_are_said_plainly(tmp_path, monkeypatch):
    """The first connection is not waited for; a missing extra names how to install it."""
    with pytest.raises(TakeupError, match="does not answer"):
        opcua.listen(task(tmp_path, free_port()), seconds=1)

    real = builtins.__import__

    def without(name, *more):
        if name.partition(".")[0] == "asyncua":
            raise ImportError(name)
        return real(name, *more)

    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises(Refused, match=r"takeup\[opcua\]"):
        opcua.listen(task(tmp_path, free_port()), seconds=1)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('security = "None"', "", "missing required field `security`"),
        ('security = "None"', 'security = "none"', "security policy 'none' is not known"),
        ('security = "None"', 'security = "Basic256Sha256"', "needs certificate and key"),
        ("opc.tcp://", "http://", "write opc.tcp://host:port"),
        ('unit = "C"', 'unit = "R"', "unit 'R' of ns=2;s=TI-"),
        ("every = 0.1", "every = 5", "batch no shorter than every"),
        ('tag = "TI-2"', 'tag = "TI-1"', "are both said to be TI-1"),
        ("every = 0.1", "often = 5", "unknown field `often`"),
    ],
)
def test_a_file_that_cannot_be_listened_to_is_refused(tmp_path, old, new, said):
    """Each fault is named with what would be right."""
    task(tmp_path, 4840)
    path = tmp_path / "listen.toml"
    path.write_text(path.read_text().replace(old, new))
    with pytest.raises(BadFile, match=said):
        opcua.read(path)
