"""The hook by pre-commit itself: a scratch repository uses this one as its hook repository, and commits.

Wants RULEOUT, the program. The hook that builds ruleout is only validated; the one that uses what is installed is run.
"""

import os
import pathlib
import shutil
import subprocess
import sys
import tempfile

ROOT = pathlib.Path(__file__).resolve().parents[2]
PROGRAM = pathlib.Path(os.environ["RULEOUT"]).resolve()
PRE_COMMIT = [sys.executable, "-m", "pre_commit"]


def run(words, cwd, fine=True):
    env = dict(os.environ, PATH=f"{PROGRAM.parent}:{os.environ['PATH']}", PRE_COMMIT_HOME=str(cwd.parent / "cache"))
    env.pop("GIT_DIR", None)
    done = subprocess.run([str(w) for w in words], cwd=cwd, env=env, capture_output=True, text=True)
    if fine and done.returncode != 0:
        sys.exit(f"{words}: {done.stdout}{done.stderr}")
    return done


def repository(path):
    path.mkdir()
    run(["git", "init", "-q"], path)
    run(["git", "config", "user.name", "Test"], path)
    run(["git", "config", "user.email", "test@example.invalid"], path)
    return path


def main():
    with tempfile.TemporaryDirectory() as scratch:
        scratch = pathlib.Path(scratch)
        run([*PRE_COMMIT, "validate-manifest", ROOT / ".pre-commit-hooks.yaml"], scratch)
        # A repository with nothing but the hooks, so that no clone of this one is needed.
        hooks = repository(scratch / "hooks")
        shutil.copy(ROOT / ".pre-commit-hooks.yaml", hooks)
        run(["git", "add", "-A"], hooks)
        run(["git", "commit", "-q", "-m", "Hooks"], hooks)
        revision = run(["git", "rev-parse", "HEAD"], hooks).stdout.strip()
        work = repository(scratch / "work")
        run([PROGRAM, "draft", "base", "kb"], work)
        (work / ".pre-commit-config.yaml").write_text(
            f"repos:\n  - repo: {hooks}\n    rev: {revision}\n    hooks:\n      - id: ruleout-lint-system\n"
        )
        run(["git", "add", "-A"], work)
        run([*PRE_COMMIT, "install"], work)
        run(["git", "commit", "-q", "-m", "Begin"], work)
        procedure = work / "kb/procedures/body/horn-silent.md"
        procedure.write_text(procedure.read_text().replace("shows: wiring", "shows: wirring"))
        run(["git", "add", "-A"], work)
        stopped = run(["git", "commit", "-q", "-m", "An error"], work, fine=False)
        told = stopped.stdout + stopped.stderr
        if stopped.returncode == 0 or "unresolved-name" not in told:
            sys.exit(f"the commit was not stopped: {told}")
        procedure.write_text(procedure.read_text().replace("shows: wirring", "shows: wiring") + "\nOne more word.\n")
        run(["git", "add", "-A"], work)
        run(["git", "commit", "-q", "-m", "Mended"], work)
    print("pre-commit runs the hook: a commit with errors is stopped, one without is not")


main()
