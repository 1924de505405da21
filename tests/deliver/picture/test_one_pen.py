"""One module draws for the screen: every other one lays out marks, and knows no SVG."""

import ast
import re
from pathlib import Path

ROOT = Path(__file__).parents[3]
TAG = re.compile(
    r"</?(?:svg|g|defs|desc|path|line|polyline|polygon|rect|circle|ellipse|text|tspan)(?=[\s/>])"
)


def tags_in(source: str) -> set[str]:
    """The SVG tags in the strings of a module."""
    strings = (
        node.value
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    )
    return {tag for text in strings for tag in TAG.findall(text)}


def test_only_the_svg_writer_holds_svg() -> None:
    holding = {
        path.relative_to(ROOT).as_posix()
        for path in (ROOT / "equip").rglob("*.py")
        if tags_in(path.read_text("utf-8"))
    }

    assert holding == {"equip/deliver/picture/svg.py"}


def test_a_tag_is_found_also_where_its_parts_are_filled_in() -> None:
    drawing = """line = f'<path d="M{x} 0H9"/>' + '</svg>'"""

    assert tags_in(drawing) == {"<path", "</svg"}
    assert tags_in('address = "/exposed/<item>/<path:use>"') == set()
