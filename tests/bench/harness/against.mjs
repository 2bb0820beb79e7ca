// The core of another commit, built in a git worktree of its own, which is gone when the bench ends or is stopped.
import { spawn, spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, mkdtempSync, readdirSync, realpathSync, rmSync, symlinkSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';

/** Signals that stop a bench; a process that is killed without one leaves its worktree, which git lists. */
const STOPS = { SIGINT: 130, SIGTERM: 143, SIGHUP: 129 };

/** The commit that a name stands for. @throws where there is none */
export function commitOf(repo, ref) {
  const { status, stdout } = git(repo, ['rev-parse', '--verify', '--quiet', '--end-of-options', `${ref}^{commit}`]);
  if (status !== 0) throw new Error(`no commit is named "${ref}"; name a branch, a tag or a commit of this repository`);
  return stdout.trim();
}

/** Calls `use` with a worktree of the commit, and removes it, whether `use` ends, throws or is stopped by a signal. */
export async function inWorktree(repo, commit, use) {
  const outer = mkdtempSync(join(realpathSync(tmpdir()), 'duskbank-bench-'));
  const folder = join(outer, 'worktree');
  const children = new Set();
  const remove = () => {
    git(repo, ['worktree', 'remove', '--force', folder]);
    rmSync(outer, { recursive: true, force: true });
  };
  const stops = Object.entries(STOPS).map(([signal, code]) => {
    const stop = () => {
      for (const child of children) child.kill('SIGKILL');
      remove();
      process.exit(code);
    };
    process.on(signal, stop);
    return [signal, stop];
  });
  try {
    const added = git(repo, ['worktree', 'add', '--detach', '--quiet', folder, commit]);
    if (added.status !== 0) throw new Error(`git made no worktree of ${commit}: ${added.stderr.trim()}`);
    return await use(folder, (command, args, options) => run(children, command, args, options));
  } finally {
    remove();
    for (const [signal, stop] of stops) process.removeListener(signal, stop);
  }
}

/** Runs a program to its end without standing in the way of signals. Returns its exit code. */
function run(children, command, args, options = {}) {
  return new Promise((resolve, reject) => {
    const child = spawn(command, args, { stdio: 'inherit', ...options });
    children.add(child);
    child.on('error', reject);
    child.on('close', (code) => {
      children.delete(child);
      resolve(code ?? 1);
    });
  });
}

/**
 * Builds core and command line in a worktree, with the libraries of this checkout: they are linked, except that the packages
 * of the worktree see each other.
 */
export async function buildIn(folder, repo, start) {
  symlinkSync(join(repo, 'node_modules'), join(folder, 'node_modules'));
  const packages = ['core', 'cli'];
  for (const name of packages) {
    const from = join(repo, 'packages', name, 'node_modules');
    const to = join(folder, 'packages', name, 'node_modules');
    for (const dependency of dependenciesIn(from)) {
      const own = packages.find((each) => dependency === `@duskbank/${each}`);
      const target = own === undefined ? realpathSync(join(from, dependency)) : join(folder, 'packages', own);
      mkdirSync(dirname(join(to, dependency)), { recursive: true });
      symlinkSync(target, join(to, dependency));
    }
    const code = await start(join(repo, 'node_modules', '.bin', 'tsdown'), ['--logLevel', 'error', '--no-dts'], {
      cwd: join(folder, 'packages', name),
      stdio: ['ignore', 'ignore', 'inherit'],
    });
    if (code !== 0) throw new Error(`${name} of that commit doesn't build`);
  }
}

function dependenciesIn(folder) {
  if (!existsSync(folder)) return [];
  return readdirSync(folder).flatMap((name) => {
    if (name.startsWith('.')) return [];
    return name.startsWith('@') ? readdirSync(join(folder, name)).map((inner) => `${name}/${inner}`) : [name];
  });
}

/** Whether the libraries that a commit asks for are those of this checkout. */
export function sameLibraries(repo, commit) {
  return git(repo, ['diff', '--quiet', commit, '--', 'pnpm-lock.yaml']).status === 0;
}

function git(repo, args) {
  return spawnSync('git', args, { cwd: repo, encoding: 'utf8' });
}
