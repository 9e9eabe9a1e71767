"""Programs of npm's that only the tests run: pinned in pyproject.toml, fetched into the cache when first needed."""

from __future__ import annotations

from pathlib import Path

from site_src import runtime


def tool(name: str, script: str) -> Path:
    """Return a tool's script, by its path in the tool's own folder; the tool is fetched once."""
    version = runtime.pins()["tool"]["fieldbook"]["tools"][name]
    folder = runtime.CACHE / "tools" / f"{name}-{version}"
    found = folder / "node_modules" / name / script
    if not found.exists():
        folder.mkdir(parents=True, exist_ok=True)
        runtime.call(
            [
                *runtime.npm(),
                *("install", "--prefix", folder, "--ignore-scripts", "--no-audit", "--no-fund", "--no-package-lock"),
                f"{name}@{version}",
            ],
            f"npm could not fetch {name}. It needs a network the first time: connect and run again.",
            cwd=folder,
        )
    return found
