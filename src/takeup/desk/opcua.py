"""Live readings over OPC UA, written into the drop folder: one road in.

Nodes are read every so often, all in one call, with their quality, and written as files that
:mod:`takeup.desk.feeds` takes.  A bellows changes within minutes; reading on a beat, instead of
waiting for changes, keeps a value that stands still apart from a line that has gone dead.
"""

from __future__ import annotations

import asyncio
import csv
import datetime as dt
import os
import threading
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import msgspec

from takeup.errors import BadFile, Refused, TakeupError

if TYPE_CHECKING:
    from asyncua import Client

FIRST_WAIT, LONGEST_WAIT = 1.0, 60.0
"""s between attempts to connect again, doubled from the first to the longest"""
PATIENCE = 10.0
"""s that an answer may take"""
CLOCKS_APART = 60.0
"""s between the clock of the server and this one before it is told"""
SERVER_CLOCK = "i=2258"
"""Its current time, a node that every server has (OPC 10000-5)"""
POLICIES = ("None", "Basic256Sha256", "Aes128Sha256RsaOaep", "Aes256Sha256RsaPss")


class Node(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One node of the server."""

    tag: str
    """Instrument tag on record"""
    unit: str
    """C, F or K, as the node gives it"""


class Listening(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A file that says what to listen to."""

    endpoint: str
    """opc.tcp://…"""
    security: str
    """Policy by its name; None must be written out, so that nobody runs it by oversight"""
    folder: str
    """Drop folder the readings are written to, from the file's own place"""
    nodes: dict[str, Node]
    """By node id, such as ns=2;s=TI-1102"""
    every: float = 60.0
    """s between readings"""
    batch: float = 3600.0
    """s that go into one file"""
    mode: str = "SignAndEncrypt"
    """Sign or SignAndEncrypt, for every policy but None"""
    certificate: str = ""
    key: str = ""
    server_certificate: str = ""
    user: str = ""
    password_file: str = ""


class Listened(msgspec.Struct, frozen=True, kw_only=True):
    """What came of listening."""

    readings: int
    good: int
    files: tuple[str, ...]
    connections: int
    """How often a connection was made; more than one is a line that was lost"""
    lost: float
    """s without a connection after the first"""
    notes: tuple[str, ...]


def read(path: Path) -> Listening:
    """Read what to listen to; raises :class:`BadFile` with what would be right."""
    if not path.exists():
        raise BadFile(f"there is no file {path}")
    try:
        task = msgspec.convert(tomllib.loads(path.read_text(encoding="utf-8")), Listening)
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as fault:
        raise BadFile(f"{path} cannot be read as TOML: {fault}") from fault
    except msgspec.ValidationError as fault:
        raise BadFile(f"{path}: {fault}") from fault
    wrong = ""
    if not task.endpoint.startswith("opc.tcp://"):
        wrong = f"endpoint {task.endpoint!r} is none; write opc.tcp://host:port"
    elif task.security not in POLICIES:
        wrong = f"security policy {task.security!r} is not known; use {', '.join(POLICIES)}"
    elif task.security != "None" and not (task.certificate and task.key):
        wrong = f"security policy {task.security} needs certificate and key"
    elif task.mode not in {"Sign", "SignAndEncrypt"}:
        wrong = f"mode {task.mode!r} is not known; use Sign or SignAndEncrypt"
    elif task.user and not task.password_file:
        wrong = "user needs password_file, a file that holds the password alone"
    elif not task.nodes:
        wrong = "it names no nodes"
    elif not (task.every >= 0.05 and task.batch >= task.every):
        wrong = "every must be at least 0.05 s, and batch no shorter than every"
    else:
        seen: dict[str, str] = {}
        for id, node in task.nodes.items():
            if node.unit not in {"C", "F", "K"}:
                wrong = f"unit {node.unit!r} of {id} is not known; use C, F or K"
            elif node.tag in seen:
                wrong = f"{seen[node.tag]} and {id} are both said to be {node.tag}"
            seen[node.tag] = id
    if wrong:
        raise BadFile(f"{path}: {wrong}")
    here = path.parent
    return msgspec.structs.replace(
        task,
        **{
            name: str(here / getattr(task, name))
            for name in ("folder", "certificate", "key", "server_certificate", "password_file")
            if getattr(task, name)
        },
    )


def listen(
    task: Listening,
    *,
    stop: threading.Event | None = None,
    seconds: float | None = None,
    tell: Callable[[str], None] = lambda _: None,
) -> Listened:
    """Read the nodes of ``task`` until ``stop`` is set or ``seconds`` have passed.

    A lost connection is made again, for as long as it takes; what was missed stays a gap.  The
    last batch is written whatever ends it.

    Raises :class:`Refused` where asyncua is not installed, and :class:`TakeupError` where the
    server does not know a node or turns the first connection down.
    """
    try:
        import asyncua  # noqa: F401 - is it there?
    except ImportError:
        raise Refused(
            "listening over OPC UA needs asyncua; install Takeup with its extra: "
            "pip install 'takeup[opcua]'"
        ) from None
    listener = _Listener(task, stop or threading.Event(), seconds, tell)
    return asyncio.run(listener.run())


class _Listener:
    """Keeps what was read, writes it in batches, connects again."""

    def __init__(
        self,
        task: Listening,
        stop: threading.Event,
        seconds: float | None,
        tell: Callable[[str], None],
    ) -> None:
        self.task, self.stop, self.tell = task, stop, tell
        self.seconds = seconds
        self.rows: list[tuple[str, str, str, str, str]] = []
        self.begun = 0.0
        self.files: list[str] = []
        self.readings = self.good = self.connections = 0
        self.lost = 0.0
        self.notes: list[str] = []
        self.batch_from = 0.0
        self.apart = 0.0

    async def run(self) -> Listened:
        """Connect and read until stopped."""
        from asyncua.ua.uaerrors import UaError

        loop = asyncio.get_running_loop()
        self.begun = self.batch_from = loop.time()
        wait, gone = FIRST_WAIT, None
        try:
            while not self._over():
                try:
                    client = await self._client()
                    async with client:
                        self.connections += 1
                        wait = FIRST_WAIT
                        if gone is not None:
                            self.lost += loop.time() - gone
                            gone = None
                            self.tell("connected again")
                        await self._known(client)
                        await self._beat(client)
                except (OSError, TimeoutError, UaError) as fault:
                    said = str(fault).strip() or type(fault).__name__
                    if not self.connections:
                        raise TakeupError(
                            f"{self.task.endpoint} does not answer: {said}. Are endpoint and "
                            "security right, and does the server trust the certificate?"
                        ) from fault
                    gone = loop.time() if gone is None else gone
                    self._note(f"connection lost at {_now():%Y-%m-%d %H:%M:%S} UTC: {said}")
                    self.flush()
                    await self._rest(wait)
                    wait = min(2 * wait, LONGEST_WAIT)
        finally:
            if gone is not None:
                self.lost += loop.time() - gone
            self.flush()
        return Listened(
            readings=self.readings,
            good=self.good,
            files=tuple(self.files),
            connections=self.connections,
            lost=self.lost,
            notes=tuple(self.notes),
        )

    async def _client(self) -> Client:
        from asyncua import Client

        task = self.task
        client = Client(task.endpoint, timeout=PATIENCE)
        if task.user:
            client.set_user(task.user)
            client.set_password(Path(task.password_file).read_text(encoding="utf-8").strip())
        if task.security != "None":
            parts = [task.security, task.mode, task.certificate, task.key]
            if task.server_certificate:
                parts.append(task.server_certificate)
            await client.set_security_string(",".join(parts))
        return client

    async def _known(self, client: Client) -> None:
        """Whether the server knows every node: asked once, since a wrong name is no bad reading."""
        _, values = await self._values(client)
        for id, one in zip(self.task.nodes, values, strict=True):
            code = one.StatusCode
            if code is not None and code.name in {"BadNodeIdUnknown", "BadNodeIdInvalid"}:
                raise TakeupError(
                    f"{self.task.endpoint} knows no node {id}, said to be {self.task.nodes[id].tag}"
                )

    async def _values(self, client: Client) -> tuple[dt.datetime, list[Any]]:
        """The time, and what each node says now.

        Readings get the time of this clock: stamps of a server may be those of the last change.
        Its clock is read with them, and told where it is far off.
        """
        from asyncua import ua
        from asyncua.ua.uaerrors import UaError

        ids = []
        for id in self.task.nodes:
            try:
                ids.append(ua.NodeId.from_string(id))
            except (UaError, ValueError) as fault:
                raise TakeupError(
                    f"node id {id!r} cannot be read; write it as ns=2;s=TI-1102"
                ) from fault
        clock = ua.NodeId.from_string(SERVER_CLOCK)
        read = await client.uaclient.read_attributes([clock, *ids], ua.AttributeIds.Value)
        said = read[0].Value.Value if read[0].Value is not None else None
        time = _now()
        apart = (_utc(said) - time).total_seconds() if isinstance(said, dt.datetime) else 0.0
        if abs(apart - self.apart) > CLOCKS_APART:
            self.apart = apart
            self._note(f"the clock of the server is {apart:+.0f} s off this one")
        return time, list(read[1:])

    async def _beat(self, client: Client) -> None:
        """Read all nodes, once each beat."""
        loop = asyncio.get_running_loop()
        due = loop.time()
        while not self._over():
            time, values = await asyncio.wait_for(self._values(client), PATIENCE)
            for node, value in zip(self.task.nodes.values(), values, strict=True):
                self._keep(node, time, value)
            if loop.time() - self.batch_from >= self.task.batch:
                self.flush()
                self.batch_from = loop.time()
            due = max(due + self.task.every, loop.time() - self.task.every)
            await self._rest(due - loop.time())

    def _keep(self, node: Node, time: dt.datetime, value: Any) -> None:
        number = value.Value.Value if value.Value is not None else None
        shown = repr(float(number)) if isinstance(number, int | float) else ""
        code = value.StatusCode
        if code is not None and code.is_bad():
            quality = "bad"
        elif code is not None and code.is_uncertain():
            quality = "uncertain"
        else:
            quality = "good" if shown else "no number"
        self.readings += 1
        self.good += quality == "good"
        self.rows.append(
            (
                node.tag,
                time.strftime("%Y-%m-%dT%H:%M:%S.%fZ"),
                shown,
                node.unit,
                quality,
            )
        )

    def flush(self) -> None:
        """Write what was read into the drop folder; kept for the next time where that fails."""
        if not self.rows:
            return
        folder = Path(self.task.folder)
        name = f"opcua-{_now():%Y%m%dT%H%M%S%fZ}.csv"
        staged = folder / f".{name}"
        try:
            folder.mkdir(parents=True, exist_ok=True)
            with staged.open("w", encoding="utf-8", newline="") as stream:
                writer = csv.writer(stream)
                writer.writerow(("tag", "time", "value", "unit", "quality"))
                writer.writerows(self.rows)
                stream.flush()
                os.fsync(stream.fileno())
            staged.replace(folder / name)
        except OSError as fault:
            self._note(f"{folder} cannot be written, readings are held back: {fault}")
            return
        self.files.append(name)
        self.tell(f"{name}: {len(self.rows)} readings")
        self.rows = []

    def _note(self, words: str) -> None:
        self.tell(words)
        self.notes.append(words)
        del self.notes[:-100]

    def _over(self) -> bool:
        late = (
            self.seconds is not None
            and asyncio.get_running_loop().time() - self.begun >= self.seconds
        )
        return late or self.stop.is_set()

    async def _rest(self, seconds: float) -> None:
        """Wait, in steps short enough to stop soon."""
        loop = asyncio.get_running_loop()
        until = loop.time() + max(0.0, seconds)
        if self.seconds is not None:
            until = min(until, self.begun + self.seconds)
        while (left := until - loop.time()) > 0 and not self.stop.is_set():
            await asyncio.sleep(min(left, 0.2))


def _now() -> dt.datetime:
    return dt.datetime.now(dt.UTC)  # noqa: TID251 - desk is where the clock lives


def _utc(stamp: dt.datetime) -> dt.datetime:
    """Stamps of the library carry UTC, with or without saying so."""
    return stamp.replace(tzinfo=dt.UTC) if stamp.tzinfo is None else stamp.astimezone(dt.UTC)
