"""Words as they stand in templates and code: headings, labels, gates, and the names of files that are written."""

import ast
import re
from collections.abc import Iterable, Iterator
from pathlib import Path

PACKAGES = ("riskmodel", "training", "synthetic_cohort")
_TYPST_HEADING = re.compile(r'heading\(level: 2, "([^"]+)"')
_TYPST_LABEL = re.compile(r'luma\(\d+\), "([^"]+)"|\*([A-Z][^*#]+)\*')
_TYPST_COLUMNS = re.compile(r'table\.header\(((?:"[^"]+"(?:, )?)+)\)')
_HTML_HEADING = re.compile(r"<h[12][^>]*>([^<{]+)</h[12]>")
_HTML_LABEL = re.compile(
    r"<(h[1-4]|a|b|button|caption|dt|figcaption|label|legend|option|summary|th)\b[^>]*>(.*?)</\1>", re.DOTALL
)
_NOT_SHOWN = re.compile(r"{#.*?#}|{%.*?%}|{{.*?}}|<[^>]+>", re.DOTALL)
_PYTHON_HEADING = re.compile(r'^\s+yield "([A-Z][^"]+)", ', re.MULTILINE)
_GATE = re.compile(r'(?:Verdicts\(|^        )"(\w+)"[,:]', re.MULTILINE)
_FILE = re.compile(r"\w\.(?:\w+\.)*(?:csv|html|json|md|pdf|sqlite3|toml|xlsx)$")


def headings(root: Path) -> Iterator[str]:
    """Headings of the app's pages, of the documents and of the reports."""
    yield from _found(_TYPST_HEADING, _files(root, "riskmodel/documents/templates", "*.typ"))
    yield from _found(_HTML_HEADING, _templates(root))
    yield from _found(_PYTHON_HEADING, _files(root, "riskmodel/documents", "page.py"))
    yield from _found(_PYTHON_HEADING, _files(root, "training/report", "*.py"))


def labels(root: Path) -> Iterator[str]:
    """Everything else on a page that names something: fields, buttons, links, columns, facts, leads in bold."""
    titles = set(headings(root))
    for path in _templates(root):
        for _, inner in _HTML_LABEL.findall(path.read_text(encoding="utf-8")):
            shown = " ".join(_NOT_SHOWN.sub(" ", inner).split()).strip(" :;,.·")
            # A word or two that join what is put in are no names.
            if shown not in titles and sum(letter.isalpha() for letter in shown) > 2:
                yield shown
    for path in _files(root, "riskmodel/documents/templates", "*.typ"):
        text = path.read_text(encoding="utf-8")
        yield from ("".join(pair).strip(" :.") for pair in _TYPST_LABEL.findall(text))
        yield from (word for row in _TYPST_COLUMNS.findall(text) for word in re.findall(r'"([^"]+)"', row))
    for path in _files(root, "riskmodel/documents", "page.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            yield from filter(None, _block(node))


def _block(node: ast.AST) -> Iterator[str]:
    """Captions and columns of a document's table, and what stands before a fact."""
    if isinstance(node, ast.Call) and ast.unparse(node.func) == "Table":
        caption, head = node.args[:2]
        yield _text(caption) if isinstance(caption, ast.Constant) else ""
        yield from (_text(cell) for cell in (head.elts if isinstance(head, ast.Tuple) else ()))
    elif isinstance(node, ast.Call) and ast.unparse(node.func) == "Facts":
        for part in ast.walk(node):
            if isinstance(part, ast.Tuple) and isinstance(part.elts[0], ast.Constant):
                yield _text(part.elts[0])


def gates(root: Path) -> Iterator[str]:
    """Names of the gates that a number passes."""
    yield from _found(_GATE, [root / "riskmodel" / "gates.py"])


def files(root: Path) -> Iterator[str]:
    """Names of files, what varies in capitals: `NAME.riskmodel.json`."""
    for package in PACKAGES:
        for path in _files(root, package, "*.py"):
            yield from map(_name, _whole_texts(ast.parse(path.read_text(encoding="utf-8"))))
    yield from (f"NAME.{kind}.html" for kind in _kinds(root))


def _name(text: str) -> str:
    return text.rsplit("/", 1)[-1]


def _whole_texts(tree: ast.Module) -> Iterator[str]:
    """Texts of the code that end like a file; pieces of a longer text are not texts of their own."""
    joined = [node for node in ast.walk(tree) if isinstance(node, ast.JoinedStr)]
    pieces = {id(part) for node in joined for part in ast.walk(node) if part is not node}
    for node in ast.walk(tree):
        told = _text(node) if id(node) not in pieces else ""
        if _FILE.search(told) and " " not in told:
            yield told


def _text(node: ast.AST) -> str:
    if isinstance(node, ast.JoinedStr):
        return "".join(_text(part) for part in node.values)
    if isinstance(node, ast.FormattedValue):
        return str(re.findall(r"\w+", ast.unparse(node.value))[-1]).upper()
    return node.value if isinstance(node, ast.Constant) and isinstance(node.value, str) else ""


def _kinds(root: Path) -> Iterator[str]:
    """What reports are called in their file names: the third argument of whoever writes one, and the drafts."""
    for path in _files(root, "training", "*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and ast.unparse(node.func) == "results.write":
                yield _text(node.args[2])
    yield from _found(re.compile(r'"(\w+)": \w+\.page\(bundle\)'), [root / "training/report/drafts/files.py"])


def _templates(root: Path) -> list[Path]:
    return [
        path
        for folder in ("riskmodel/documents/templates", "riskmodel/web/templates")
        for path in _files(root, folder, "*.jinja")
    ]


def _files(root: Path, folder: str, ending: str) -> list[Path]:
    return sorted((root / folder).rglob(ending))


def _found(pattern: re.Pattern[str], paths: Iterable[Path]) -> Iterator[str]:
    for path in paths:
        held = pattern.findall(path.read_text(encoding="utf-8"))
        yield from (word.strip() for word in held if word.strip())
