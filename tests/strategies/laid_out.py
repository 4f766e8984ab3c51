"""A drawn machine laid out as files, for `--root`."""

import os
from dataclasses import replace
from pathlib import Path

from closeout.kernel.folder import answer_name
from strategies.drawn_tree import DrawnTree
from strategies.fen import HEALTHY
from strategies.notebook import Plan, draw_notebook


def lay_out(tree: DrawnTree, root: Path) -> Path:
    """The folder `root` with the files, links and answers of the tree; errnos are left out."""
    answers = {f"ask/{answer_name(question)}": one for question, one in tree.answers.items()}
    for path, content in {**tree.files, **answers}.items():
        if isinstance(content, bytes):
            (root / path).parent.mkdir(parents=True, exist_ok=True)
            (root / path).write_bytes(content)
    for folder in tree.folders:
        (root / folder).mkdir(parents=True, exist_ok=True)
    for path, aim in tree.links.items():
        (root / path).parent.mkdir(parents=True, exist_ok=True)
        (root / path).symlink_to(os.path.relpath(root / aim, (root / path).parent))
    return root


def healthy(root: Path, **changes: object) -> Path:
    """The healthy notebook, with changes to its plan, as a folder."""
    plan: Plan = replace(HEALTHY, **changes)  # type: ignore[arg-type]  # the plan checks itself
    return lay_out(draw_notebook(plan), root)
