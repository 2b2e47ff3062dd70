"""Gathers all strings of the window: ``python -m tests.translations`` brings the catalogs up to date and releases them.

A catalog is ``resources/translations/yardplan_LANGUAGE.ts``; what is new in it is marked unfinished and has to be
translated there by hand, what no source says any more is dropped. Beside it lies what Qt loads, made by lrelease.
"""

import ast
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from xml.etree import ElementTree
from xml.sax.saxutils import escape

from yardplan.domain import figures
from yardplan.domain.heat_use import HeatTo
from yardplan.domain.made import Cause
from yardplan.domain.review import CARDS

ROOT = Path(__file__).resolve().parent.parent
FOLDER = ROOT / "resources" / "translations"
LANGUAGES = ("es",)

Message = tuple[str, str]
"""Context and source."""


def field_names(text: str) -> list[str]:
    """Return the named fields of a sentence, each as often as it is there."""
    return sorted(re.findall(r"\{(\w*)[^}]*\}", text))


def source_messages() -> set[Message]:
    """Return all strings that the window says, with their contexts."""
    found = set(_review_messages())
    for path in sorted((ROOT / "yardplan" / "ui").glob("*.py")):
        found |= set(_messages_in(path))
    return found


def _messages_in(path: Path) -> Iterator[Message]:
    def walk(node: ast.AST, context: str) -> Iterator[Message]:
        if isinstance(node, ast.ClassDef):
            context = node.name
        if isinstance(node, ast.Call):
            said = _said(node, context)
            if said is not None:
                yield from said
        for child in ast.iter_child_nodes(node):
            yield from walk(child, context)

    def _said(call: ast.Call, context: str) -> list[Message] | None:
        func = call.func
        if isinstance(func, ast.Attribute) and func.attr == "tr" and isinstance(func.value, ast.Name):
            return [(context, text) for text in texts(call.args[0])]
        is_alias = isinstance(func, ast.Name) and func.id == "tr"
        is_translate = (
            isinstance(func, ast.Attribute)
            and func.attr == "translate"
            and isinstance(func.value, ast.Name)
            and func.value.id == "QCoreApplication"
        )
        if not (is_alias or is_translate):
            return None
        (name,) = texts(call.args[0])
        if name == "review":  # its texts are gathered where they are written
            return []
        return [(name, text) for text in texts(call.args[1])]

    def texts(node: ast.expr) -> list[str]:
        if isinstance(node, ast.IfExp):
            return texts(node.body) + texts(node.orelse)
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            return [node.value]
        raise SystemExit(f"{path.name}, line {node.lineno}: what is said must be written there, not put together")

    yield from walk(ast.parse(path.read_text(encoding="utf-8")), "")


def _review_messages() -> Iterator[Message]:
    """Cards, counts and notes of a review, which the domain writes."""
    for card in CARDS.values():
        for text in (card.name, card.scope, card.formula, card.trend, card.timing, card.audience, card.source):
            yield "review", text
    for name, value in vars(figures).items():
        if name.isupper() and isinstance(value, str):
            yield "review", value
    tree = ast.parse(Path(figures.__file__).read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        pair = node.elts if isinstance(node, ast.Tuple) and len(node.elts) == 2 else []
        if pair and isinstance(pair[0], ast.Constant) and not isinstance(pair[1], ast.Constant | ast.Starred):
            yield "review", str(pair[0].value)
        if isinstance(node, ast.Constant) and node.value in ("no reason told", "too few days to judge by"):
            yield "review", node.value
    for to in HeatTo:
        yield "review", f"kWh {to}"
    for cause in Cause:
        yield "review", str(cause)


def read_catalog(path: Path) -> dict[Message, str]:
    """Return the finished translations of a catalog."""
    if not path.exists():
        return {}
    found = {}
    for context in ElementTree.parse(path).getroot().iter("context"):
        name = context.findtext("name") or ""
        for message in context.iter("message"):
            translation = message.find("translation")
            if translation is not None and translation.get("type") is None and translation.text:
                found[name, message.findtext("source") or ""] = translation.text
    return found


def write_catalog(path: Path, language: str, messages: set[Message], translated: dict[Message, str]) -> int:
    """Write a catalog of all messages, sorted; returns how many have no translation yet."""
    lines = ['<?xml version="1.0" encoding="utf-8"?>', "<!DOCTYPE TS>"]
    lines.append(f'<TS version="2.1" language="{language}" sourcelanguage="en">')
    missing = 0
    for context in sorted({context for context, _ in messages}):
        lines += ["<context>", f"    <name>{escape(context)}</name>"]
        for source in sorted(text for name, text in messages if name == context):
            text = translated.get((context, source))
            missing += text is None
            told = '<translation type="unfinished"/>' if text is None else f"<translation>{escape(text)}</translation>"
            lines += [
                "    <message>",
                f"        <source>{escape(source)}</source>",
                f"        {told}",
                "    </message>",
            ]
        lines.append("</context>")
    lines.append("</TS>")
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return missing


def release(catalog: Path, to: Path) -> None:
    """Make what Qt loads of a catalog; lrelease comes with PySide6."""
    import PySide6

    tool = Path(PySide6.__file__).parent / ("lrelease.exe" if sys.platform == "win32" else "lrelease")
    subprocess.run([tool, "-silent", "-removeidentical", catalog, "-qm", to], check=True)


def main() -> None:
    """Bring all catalogs up to date."""
    FOLDER.mkdir(exist_ok=True)
    for language in LANGUAGES:
        path = FOLDER / f"yardplan_{language}.ts"
        missing = write_catalog(path, language, source_messages(), read_catalog(path))
        release(path, path.with_suffix(".qm"))
        sys.stdout.write(f"{path.name}: {missing} sentences have no translation yet\n")


if __name__ == "__main__":
    main()
