"""The supplies from the battery at the left to every load at the right."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from host_tools.papers.drawings.canvas import LINE_PITCH, Canvas
from host_tools.papers.letters import MM_PER_PT, wrapped
from host_tools.papers.sheet import Figure

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

WIDTH_MM = 180.0
MOST_HEIGHT_MM = 200.0
TEXT_PT, SMALL_PT = 7.0, 6.0
LINE_MM = TEXT_PT * MM_PER_PT * LINE_PITCH
LINK_MM, PITCH_MOST_MM, LEAF_ROOM_MM = 19.0, 50.0, 44.0
LEAST_ROW_MM = 5.6
OWN_FUSE_MM = 11.0


@dataclass(frozen=True)
class TreeNode:
    """A supply, or a load if it `is_load`; `fuse` stands in the line that leads to it. A supply
    whose own drawing is another one has no `children` and `is_elsewhere`."""

    name: str
    text: str
    fuse: str
    is_load: bool
    children: tuple[TreeNode, ...] = ()
    is_elsewhere: bool = False


def supply_tree(roots: Sequence[TreeNode]) -> tuple[Figure, ...]:
    """One drawing a battery or, where that would not fit a page, one a supply."""
    made = []
    for root in roots:
        whole = _Tree(root)
        if whole.height <= MOST_HEIGHT_MM:
            made.append(Figure(root.name, "", whole.svg()))
            continue
        for node in _supplies(root):
            parts = _parts(node)
            for number, part in enumerate(parts, 1):
                many = f" ({number} of {len(parts)})" if len(parts) > 1 else ""
                made.append(Figure(f"{node.name}{many}", f"{node.name}{many}", _Tree(part).svg()))
    return tuple(made)


def _supplies(node: TreeNode) -> Iterator[TreeNode]:
    """Every supply that feeds something, each with what hangs on it directly."""
    if not node.children:
        return
    shallow = tuple(
        TreeNode(one.name, one.text, one.fuse, one.is_load, (), bool(one.children))
        for one in node.children
    )
    yield TreeNode(node.name, node.text, node.fuse, node.is_load, shallow)
    for child in node.children:
        yield from _supplies(child)


def _parts(node: TreeNode) -> list[TreeNode]:
    """A supply with so many children at a time as fit a page."""
    chunks: list[list[TreeNode]] = [[]]
    for child in node.children:
        tried = TreeNode(node.name, node.text, node.fuse, node.is_load, (*chunks[-1], child))
        if chunks[-1] and _Tree(tried).height > MOST_HEIGHT_MM:
            chunks.append([])
        chunks[-1].append(child)
    return [
        TreeNode(node.name, node.text, node.fuse, node.is_load, tuple(chunk)) for chunk in chunks
    ]


class _Tree:
    """One drawing: each supply stands at the middle of what it feeds."""

    def __init__(self, root: TreeNode) -> None:
        self.root = root
        depth = max(1, _depth(root))
        self.pitch = min(PITCH_MOST_MM, (WIDTH_MM - LEAF_ROOM_MM - 4) / depth)
        self.box = self.pitch - LINK_MM
        self.height = self._span(root, 0) + 4

    def svg(self) -> str:
        self.canvas = Canvas(WIDTH_MM, self.height, f"Supplies: {self.root.name}")
        self._draw(self.root, 0, 2.0, None)
        return self.canvas.svg()

    def _texts(self, node: TreeNode, depth: int) -> tuple[list[str], list[str]]:
        leaf = not node.children
        room = WIDTH_MM - 4 - depth * self.pitch if leaf else self._box(node, depth) - 2
        text = f"{node.text}; see its own drawing" if node.is_elsewhere else node.text
        if leaf:
            return wrapped(f"{node.name}: {text}" if text else node.name, TEXT_PT, room), []
        return wrapped(node.name, TEXT_PT, room), wrapped(text, SMALL_PT, room)

    def _box(self, node: TreeNode, depth: int) -> float:
        """The width of its box: a battery's own fuse stands behind it."""
        return self.box - OWN_FUSE_MM if node.fuse and not depth else self.box

    def _own(self, node: TreeNode, depth: int) -> float:
        names, texts = self._texts(node, depth)
        lines = (len(names) + len(texts)) * LINE_MM
        return max(LEAST_ROW_MM, lines + (1.2 if not node.children else 3.4))

    def _span(self, node: TreeNode, depth: int) -> float:
        below = sum(self._span(child, depth + 1) for child in node.children)
        return max(self._own(node, depth), below)

    def _draw(self, node: TreeNode, depth: int, top: float, from_x: float | None) -> float:
        """Draws a node and all below it; returns the height at which it is joined."""
        canvas, x = self.canvas, 2.0 + depth * self.pitch
        span = self._span(node, depth)
        below = sum(self._span(child, depth + 1) for child in node.children)
        y = top + (span - below) / 2
        joints = []
        for child in node.children:
            joints.append(self._draw(child, depth + 1, y, x + self.box))
            y += self._span(child, depth + 1)
        middle = (joints[0] + joints[-1]) / 2 if joints else top + span / 2
        if from_x is not None:
            self._link(node, from_x + 3, x, middle)
        names, texts = self._texts(node, depth)
        if node.children:
            own = self._own(node, depth)
            box = self._box(node, depth)
            canvas.box((x, middle - own / 2), (box, own), stroke="thick")
            if box < self.box:
                self._fuse(x + box + OWN_FUSE_MM / 2, middle, node.fuse)
                canvas.line((x + box, middle), (x + self.box, middle))
            canvas.line((x + self.box, middle), (x + self.box + 3, middle))
            canvas.line((x + self.box + 3, joints[0]), (x + self.box + 3, joints[-1]))
            start = middle - (len(names) + len(texts)) * LINE_MM / 2 + LINE_MM * 0.78
            used = canvas.text((x + 1.4, start), "\n".join(names), size_pt=TEXT_PT, bold=True)
            canvas.text((x + 1.4, start + used), "\n".join(texts), size_pt=SMALL_PT)
        else:
            canvas.circle((x, middle), 0.8, fill="#fff" if node.is_load else "#000")
            start = middle - len(names) * LINE_MM / 2 + LINE_MM * 0.78
            canvas.text((x + 2, start), "\n".join(names), size_pt=TEXT_PT)
        return middle

    def _link(self, node: TreeNode, start: float, end: float, y: float) -> None:
        """The line to a node, with its fuse."""
        canvas = self.canvas
        if not node.fuse:
            canvas.line((start, y), (end - 0.8, y))
            return
        canvas.line((start, y), (end - 0.8, y))
        self._fuse(start + 4.5, y, node.fuse)

    def _fuse(self, middle: float, y: float, number: str) -> None:
        self.canvas.box((middle - 2.6, y - 1.0), (5.2, 2.0))
        self.canvas.text((middle + 3.2, y - 0.7), number, size_pt=5.5)


def _depth(node: TreeNode) -> int:
    return 1 + max(map(_depth, node.children)) if node.children else 0
