"""Pages as axe-core judges them, run by chromium: what keeps people from reading them.

The rules are those of WCAG 2 up to 2.2, A and AA, and the best practices. axe-core is a script of
the npm registry (`npm pack axe-core`); where it lies is told by CLOSEOUT_AXE.
"""

import html
import json
import os
import re
import shutil
import subprocess
from pathlib import Path
from typing import Any, Final

BROWSER: Final = "chromium"
SCRIPT: Final = "CLOSEOUT_AXE"
OPTIONS: Final = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--window-size=1200,1600",
    "--virtual-time-budget=120000",
    "--dump-dom",
)
RUN: Final = """
const told = document.createElement("pre");
told.id = "axe";
axe.run(document, {resultTypes: ["violations", "incomplete"]}).then((found) => {
  told.textContent = JSON.stringify({violations: found.violations, passes: found.passes.length});
}, (error) => { told.textContent = JSON.stringify({error: String(error)}); }
).finally(() => document.body.append(told));
"""


def reason_to_skip() -> str:
    if not shutil.which(BROWSER):
        return f"{BROWSER} is not installed"
    script = os.environ.get(SCRIPT, "")
    return "" if script and Path(script).is_file() else f"{SCRIPT} names no axe.min.js"


def find_violations(page: str, folder: Path, *options: str) -> list[str]:
    """Each rule that the page breaks, with where; the page's ban of scripts is lifted for it."""
    script = Path(os.environ[SCRIPT]).read_text("utf-8")
    free = re.sub(r'<meta http-equiv="Content-Security-Policy"[^>]*>', "", page)
    judged = free.replace("</body>", f"<script>{script}</script><script>{RUN}</script></body>")
    file = folder / "page.html"
    file.write_text(judged, encoding="utf-8")
    command = [BROWSER, *OPTIONS, f"--user-data-dir={folder / 'browser'}", *options, str(file)]
    dumped = subprocess.run(command, check=True, capture_output=True, text=True).stdout
    (told,) = re.findall(r'<pre id="axe">(.*?)</pre>', dumped, re.DOTALL)
    found: dict[str, Any] = json.loads(html.unescape(told))
    assert found["passes"] > 10, found
    return [
        f"{each['id']}: {node['target'][0]}: {node['failureSummary']}"
        for each in found["violations"]
        for node in each["nodes"]
    ]
