"""Long work in the background of a server: progress to be watched, a way to stop it."""

from __future__ import annotations

import itertools
import threading
from collections.abc import Callable, Iterator
from enum import StrEnum

import msgspec

from takeup.errors import Cancelled, Refused, TakeupError, UnknownName
from takeup.progress import Progress


class State(StrEnum):
    """Where a job stands."""

    RUNNING = "running"
    DONE = "done"
    FAILED = "failed"
    CANCELLED = "cancelled"


class Event(msgspec.Struct, frozen=True):
    """One thing a job told."""

    share: float
    text: str
    state: State


class _Job:
    def __init__(self, name: str) -> None:
        self.name = name
        self.event = Event(0.0, "starting", State.RUNNING)
        self.stop = threading.Event()
        self.told = threading.Condition()
        self.number = 0

    def tell(self, event: Event) -> None:
        with self.told:
            self.event, self.number = event, self.number + 1
            self.told.notify_all()


class Jobs:
    """The jobs of one server. One job of a name runs at a time."""

    def __init__(self) -> None:
        self._jobs: dict[str, _Job] = {}
        self._ids = itertools.count(1)
        self._lock = threading.Lock()

    def start(self, name: str, work: Callable[[Progress], object]) -> str:
        """Run ``work(progress)`` in a thread and return the job's id.

        Refuses while a job of the same name is running.
        """
        with self._lock:
            running = [
                job
                for job in self._jobs.values()
                if job.name == name and job.event.state == State.RUNNING
            ]
            if running:
                raise Refused(f"{name} is already running; wait for it or cancel it")
            id = str(next(self._ids))
            job = self._jobs[id] = _Job(name)
        threading.Thread(target=self._run, args=(job, work), name=f"job-{id}", daemon=True).start()
        return id

    def _run(self, job: _Job, work: Callable[[Progress], object]) -> None:
        def progress(share: float, text: str) -> None:
            if job.stop.is_set():
                raise Cancelled(f"{job.name} was cancelled; nothing was changed")
            job.tell(Event(share, text, State.RUNNING))

        try:
            work(progress)
        except Cancelled as fault:
            job.tell(Event(job.event.share, str(fault), State.CANCELLED))
        except TakeupError as fault:
            job.tell(Event(job.event.share, str(fault), State.FAILED))
        except Exception as fault:
            # the thread has no caller: tell the watcher, then let the hook report it
            job.tell(
                Event(job.event.share, f"unexpected fault: {type(fault).__name__}", State.FAILED)
            )
            raise
        else:
            job.tell(Event(1.0, "done", State.DONE))

    def _job(self, id: str) -> _Job:
        try:
            return self._jobs[id]
        except KeyError:
            raise UnknownName("job", id, list(self._jobs)) from None

    def latest(self, id: str) -> Event:
        """What the job told last."""
        return self._job(id).event

    def name(self, id: str) -> str:
        """What the job is called."""
        return self._job(id).name

    def events(self, id: str, patience: float = 15.0) -> Iterator[Event]:
        """Yield what the job tells until it ends; repeats the last after ``patience`` s."""
        job = self._job(id)
        seen = -1
        while True:
            with job.told:
                if job.number == seen:
                    job.told.wait(patience)
                seen, event = job.number, job.event
            yield event
            if event.state != State.RUNNING:
                return

    def cancel(self, id: str) -> None:
        """Ask the job to stop at its next progress call."""
        self._job(id).stop.set()
