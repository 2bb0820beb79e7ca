// A run that is killed while it writes, before each of its calls that change the disk, one by one: no moment between two
// of them is left out. Moments within a call are tried at random by `pnpm nightly`.
import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, renameSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { filesIn, WRITINGS, type Writing, wrongAfterKill, wrongAfterNext } from '../support/killed.ts';
import { BINARY, copyOf, duskbank, folderWith } from './support.ts';

/** Loaded before the program: it is killed before its call number KILL_AT of those that change the disk. */
const KILLED = `
  const fs = require('node:fs');
  let calls = 0;
  for (const name of ['openSync', 'writeFileSync', 'fsyncSync', 'closeSync', 'fchmodSync', 'renameSync', 'linkSync', 'rmSync', 'unlinkSync', 'mkdirSync', 'rmdirSync']) {
    const call = fs[name];
    fs[name] = (...args) => {
      const changes = name !== 'openSync' || args[1] === 'wx';
      if (changes && ++calls === Number(process.env.KILL_AT)) process.kill(process.pid, 'SIGKILL');
      return call(...args);
    };
  }
  require('node:module').syncBuiltinESMExports();
`;
/** Loaded before the program: a disk that knows one name a file only, as a memory card's. */
const ONE_NAME = `
  require('node:fs').linkSync = () => {
    throw Object.assign(new Error('EPERM: operation not permitted, link'), { code: 'EPERM' });
  };
  require('node:module').syncBuiltinESMExports();
`;
const helpers = folderWith({ 'killed.cjs': KILLED, 'one-name.cjs': ONE_NAME });
const loading = (name: string) => ({ NODE_OPTIONS: `--require ${JSON.stringify(join(helpers, name))}` });

function folderFor({ folder: kind, targets, old }: Writing): string {
  const folder = kind === 'small' ? copyOf('small') : folderWith();
  if (old !== undefined) for (const name of targets) writeFileSync(join(folder, name), old);
  return folder;
}

/** `init` replaces nothing, not even what it wrote itself: what a killed one left is moved away first, as it asks for. */
function moveAway(folder: string, targets: readonly string[]): void {
  mkdirSync(join(folder, 'moved'), { recursive: true });
  for (const name of targets)
    if (existsSync(join(folder, name))) renameSync(join(folder, name), join(folder, 'moved', name));
}

// The others take the same way onto the disk; all are tried at random moments by `pnpm nightly`.
const HERE = WRITINGS.filter(({ name }) => name === 'inspect --write onto its own' || name === 'init');

test.skipIf(process.platform === 'win32').each(HERE)(
  '$name, killed before each of its calls that change the disk, leaves the old or the whole file; the next run tidies up',
  (writing) => {
    const example = folderFor(writing);
    expect(duskbank(writing.args, example).status).toBe(0);
    const whole = filesIn(example);
    let at = 1;
    for (; ; at++) {
      const folder = folderFor(writing);
      const before = filesIn(folder);
      const run = spawnSync(process.execPath, [BINARY, ...writing.args], {
        cwd: folder,
        env: { ...process.env, ...loading('killed.cjs'), KILL_AT: String(at) },
        encoding: 'utf8',
      });
      if (run.signal !== 'SIGKILL') {
        expect(run.status, run.stderr).toBe(0);
        break;
      }
      expect(wrongAfterKill(writing, before, whole, filesIn(folder)), `killed before call ${at}`).toEqual([]);
      if (writing.name === 'init') moveAway(folder, writing.targets);
      expect(duskbank(writing.args, folder).status).toBe(0);
      const after = new Map([...filesIn(folder)].filter(([name]) => !name.startsWith('moved')));
      expect(wrongAfterNext(writing, before, whole, after), `after call ${at}`).toEqual([]);
    }
    // Open, write, sync, close, rename are five.
    expect(at).toBeGreaterThan(5);
  },
);

test('init writes onto a disk that knows one name a file, and replaces nothing there either', () => {
  const folder = folderWith();
  expect(duskbank(['init', '.'], folder, loading('one-name.cjs')).status).toBe(0);
  const plain = folderWith();
  duskbank(['init', '.'], plain);
  const written = filesIn(folder);
  expect(written).toEqual(filesIn(plain));
  expect(duskbank(['init', '.'], folder, loading('one-name.cjs')).status).toBe(2);
  expect(filesIn(folder)).toEqual(written);
});
