"""Where each key and each member of a list stands in a TOML text.

The parser of the standard library gives no positions.  This scan reads structure only and
expects a text which that parser has accepted.
"""

from __future__ import annotations

import re

Path = tuple[str | int, ...]
_TOKEN = re.compile(
    r"(?P<space>[ \t\r]+)|(?P<comment>#[^\n]*)|(?P<newline>\n)"
    r'|(?P<long>"""(?:\\.|[^\\])*?"{3,5}|\'\'\'.*?\'{3,5})'
    r'|(?P<text>"(?:\\.|[^"\\\n])*"|\'[^\'\n]*\')'
    r"|(?P<mark>[\[\]{}=,.])|(?P<bare>[^\s\[\]{}=,.#\"']+)",
    re.S,
)


class _Scan:
    def __init__(self, text: str) -> None:
        self.tokens: list[tuple[str, str, int]] = []
        line = 1
        for found in _TOKEN.finditer(text):
            kind, word = str(found.lastgroup), found.group()
            if kind not in {"space", "comment"}:
                self.tokens.append((kind, word, line))
            line += word.count("\n")
        self.tokens.append(("end", "", line))
        self.at = 0
        self.lines: dict[Path, int] = {}
        self.counts: dict[Path, int] = {}

    @property
    def now(self) -> tuple[str, str, int]:
        return self.tokens[self.at]

    def keep(self, path: Path, line: int) -> None:
        self.lines.setdefault(path, line)

    def blank(self) -> None:
        while self.now[0] == "newline":
            self.at += 1

    def key(self) -> list[str]:
        """A key with its dots."""
        words: list[str] = []
        while self.now[0] in {"bare", "text"} or self.now[1] == ".":
            kind, word, _ = self.now
            if word != ".":
                words.append(word[1:-1] if kind == "text" else word)
            self.at += 1
        return words

    def lead(self, words: list[str]) -> Path:
        """The path of a table header, through the last member of every list on its way."""
        path: Path = ()
        for word in words:
            path = (*path, word)
            if path in self.counts:
                path = (*path, self.counts[path] - 1)
        return path

    def document(self) -> None:
        base: Path = ()
        while True:
            self.blank()
            kind, word, line = self.now
            if kind == "end":
                return
            if word == "[":
                many = self.tokens[self.at + 1][1] == "["
                self.at += 2 if many else 1
                words = self.key()
                self.at += 2 if many else 1
                if many:
                    path = (*self.lead(words[:-1]), words[-1])
                    self.counts[path] = self.counts.get(path, 0) + 1
                    base = (*path, self.counts[path] - 1)
                    self.keep(path, line)
                else:
                    base = self.lead(words)
                self.keep(base, line)
            else:
                self.pair(base)

    def pair(self, base: Path) -> None:
        before, line = self.at, self.now[2]
        path: Path = base
        for word in self.key():
            path = (*path, word)
            self.keep(path, line)
        if self.at == before:
            self.at += 1
            return
        if self.now[1] == "=":
            self.at += 1
        self.value(path)

    def value(self, path: Path) -> None:
        word = self.now[1]
        if word == "[" and self.now[0] == "mark":
            self.at += 1
            count = 0
            while True:
                self.blank()
                kind, sign, line = self.now
                if kind == "end" or (kind == "mark" and sign == "]"):
                    self.at += kind != "end"
                    return
                if kind == "mark" and sign == ",":
                    self.at += 1
                    continue
                self.keep((*path, count), line)
                self.value((*path, count))
                count += 1
        elif word == "{" and self.now[0] == "mark":
            self.at += 1
            while True:
                self.blank()
                kind, sign, _ = self.now
                if kind == "end" or (kind == "mark" and sign == "}"):
                    self.at += kind != "end"
                    return
                if kind == "mark" and sign == ",":
                    self.at += 1
                    continue
                self.pair(path)
        else:
            while self.now[0] in {"bare", "text", "long"} or self.now[1] == ".":
                self.at += 1
            if self.now[0] == "mark" and self.now[1] not in {",", "]", "}"}:
                self.at += 1


def positions(text: str) -> dict[Path, int]:
    """Line number (from 1) of each key path and list member of ``text``."""
    scan = _Scan(text)
    scan.document()
    return scan.lines


def line_of(lines: dict[Path, int], path: Path) -> int:
    """The line of ``path``, or of the nearest thing around it; 0 where nothing is."""
    while path:
        if path in lines:
            return lines[path]
        path = path[:-1]
    return 0
