"""What a module calls things, and what it says about them."""

import ast
from collections.abc import Iterator
from pathlib import Path


def names_in(path: Path, text: str) -> Iterator[tuple[int, str]]:
    """The module's own name, then its classes, functions and parameters, with their lines."""
    yield 1, path.parent.name if path.stem == "__init__" else path.stem
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.ClassDef):
            yield node.lineno, node.name
        elif isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node.lineno, node.name
            yield from _parameters(node.args)
        elif isinstance(node, ast.Lambda):
            yield from _parameters(node.args)


def _parameters(arguments: ast.arguments) -> Iterator[tuple[int, str]]:
    named = [*arguments.posonlyargs, *arguments.args, *arguments.kwonlyargs]
    gathering = [argument for argument in (arguments.vararg, arguments.kwarg) if argument]
    for argument in [*named, *gathering]:
        yield argument.lineno, argument.arg


def docstrings_in(text: str) -> Iterator[str]:
    """The docstring of the module and of each class and function."""
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef):
            yield ast.get_docstring(node) or ""


def calls_in(text: str) -> frozenset[str]:
    """The plain names that are called: `Reader` for `Reader(kind=...)`."""
    calls = (node.func for node in ast.walk(ast.parse(text)) if isinstance(node, ast.Call))
    return frozenset(called.id for called in calls if isinstance(called, ast.Name))
