"""The project as a whole: what ships, what the README promises, what never goes in."""

import re
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
TOP_LEVEL = {"README.md", "DEVELOPERS.md", "pyproject.toml", "yardplan", "tests", "resources", "demo_db"}


def tracked() -> list[str]:
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False)
    if listed.returncode:
        pytest.skip("not a checkout")
    return listed.stdout.split()


def test_the_top_level_holds_what_it_should_and_nothing_else():
    tops = {name.split("/")[0] for name in tracked()}
    assert {top for top in tops if not top.startswith(".")} == TOP_LEVEL


def test_the_ci_runs_the_readmes_test_command():
    readme, ci = (ROOT / "README.md").read_text(), (ROOT / ".ci" / "run").read_text()
    set_up, run_tests = re.findall(r'^(?:set_up|run_tests)="(.*)"$', ci, re.M)
    assert f"{set_up} && {run_tests}" in readme


def test_no_line_carries_a_path_of_somebodys_machine():
    bad = re.compile(r"(?<![\w.])/(?:work|farm|root|tmp|home)/[A-Za-z.]")
    for name in tracked():
        path = ROOT / name
        if path.suffix in {".py", ".md", ".toml", ".csv", ".json", ".txt"} and path.exists():
            assert not bad.search(path.read_text(encoding="utf-8")), name


def test_spelling_is_that_of_the_united_states():
    # Spelled in halves, so that this list does not find itself.
    british = [a + b for a, b in (("mou", "ld"), ("col", "our"), ("alumin", "ium"), ("cent", "re"), ("meter", "ing x"))]
    word = re.compile(r"\b(" + "|".join(british) + r")(s|ed|ing)?\b", re.IGNORECASE)
    for name in tracked():
        path = ROOT / name
        if path.suffix in {".py", ".md", ".toml", ".csv"} and path.exists():
            found = word.search(path.read_text(encoding="utf-8"))
            assert found is None, f"{name}: {found.group(0)}"


def test_a_wheel_carries_the_resources_and_the_demo_yard(tmp_path):
    built = subprocess.run(
        [
            sys.executable,
            "-m",
            "pip",
            "wheel",
            "-q",
            "--no-deps",
            "--no-build-isolation",
            "-w",
            str(tmp_path),
            str(ROOT),
        ],
        capture_output=True,
        text=True,
        check=False,
    )
    assert built.returncode == 0, built.stderr
    wheel = next(tmp_path.glob("yardplan-*.whl"))
    unpacked = tmp_path / "site"
    zipfile.ZipFile(wheel).extractall(unpacked)
    modules = {str(path.relative_to(ROOT)) for path in (ROOT / "yardplan").rglob("*.py")}
    shipped = {str(path.relative_to(unpacked)) for path in (unpacked / "yardplan").rglob("*.py")}
    assert modules == shipped
    # In a wheel the files lie inside the package, and only there.
    script = (
        "from yardplan import paths\n"
        "print(paths.resource('schemas/plan.schema.json'))\n"
        "print(paths.demo_folder() / 'site.toml')\n"
    )
    told = subprocess.run(
        [sys.executable, "-c", script], cwd=tmp_path, env={"PYTHONPATH": str(unpacked)}, capture_output=True, text=True,
        check=True,
    ).stdout.split()  # fmt: skip
    for line in told:
        assert Path(line).is_file()
        assert Path(line).is_relative_to(unpacked)
