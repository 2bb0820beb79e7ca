// What a run writes, and onto what: never onto a file that it reads, whole or not at all, nothing left behind.
import { spawn, spawnSync } from 'node:child_process';
import {
  chmodSync,
  chownSync,
  copyFileSync,
  existsSync,
  linkSync,
  lstatSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  realpathSync,
  renameSync,
  rmSync,
  statSync,
  symlinkSync,
  utimesSync,
  writeFileSync,
} from 'node:fs';
import { join, relative, sep } from 'node:path';
import { gzipSync } from 'node:zlib';
import { describeIssue, InputError, type InputIssue } from '@duskbank/core/input';
import { reportSchemas } from '@duskbank/core/study';
import { afterEach, describe, expect, test } from 'vitest';
import { run as compare } from '../../packages/cli/src/commands/compare.ts';
import { run as inspect } from '../../packages/cli/src/commands/inspect.ts';
import { isOurs } from '../../packages/cli/src/io/ours.ts';
import { BINARY, copyOf, duskbank, folderWith, ROOT } from './support.ts';

const isRoot = process.getuid?.() === 0;
const onWindows = process.platform === 'win32';

/** Loaded before the program: at its first chunk into a file it stops until the file HOLD is gone. */
const WAIT = `
  const fs = require('node:fs');
  const write = fs.writeFileSync;
  fs.writeFileSync = (file, ...rest) => {
    const held = () => typeof file === 'number' && fs.existsSync(process.env.HOLD);
    while (held()) Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, 10);
    return write(file, ...rest);
  };
  require('node:module').syncBuiltinESMExports();
`;
/** Loaded before the program: the disk is full once a few bytes are written. */
const FULL = `
  const fs = require('node:fs');
  const write = fs.writeFileSync;
  let written = 0;
  fs.writeFileSync = (file, text, ...rest) => {
    const room = Math.max(0, Number(process.env.ROOM) - written);
    written += text.length;
    write(file, text.slice(0, room), ...rest);
    if (text.length > room) throw Object.assign(new Error('ENOSPC: no space left on device, write'), { code: 'ENOSPC', errno: -28, syscall: 'write' });
  };
  require('node:module').syncBuiltinESMExports();
`;
/** Loaded before the program: it is killed as soon as all is written. */
const DIE = `
  require('node:fs').fsyncSync = () => process.kill(process.pid, 'SIGKILL');
  require('node:module').syncBuiltinESMExports();
`;
/** Loaded before the program: a file that is made where none should be asked for is its end. */
const UNASKED = `
  const fs = require('node:fs');
  const open = fs.openSync;
  fs.openSync = (file, flags, ...rest) => (flags === 'wx' ? process.exit(77) : open(file, flags, ...rest));
  require('node:module').syncBuiltinESMExports();
`;
const helpers = folderWith({ 'wait.cjs': WAIT, 'full.cjs': FULL, 'die.cjs': DIE, 'unasked.cjs': UNASKED });
const loading = (name: string) => ({ NODE_OPTIONS: `--require ${JSON.stringify(join(helpers, name))}` });

/** Everything in a folder with its content: what a run that refuses leaves alike. */
function stateOf(folder: string): string[] {
  return readdirSync(folder, { recursive: true, encoding: 'utf8' })
    .sort()
    .map((name) => {
      const stat = lstatSync(join(folder, name));
      const content = stat.isFile() ? readFileSync(join(folder, name), 'base64') : '';
      return `${name} ${stat.mode} ${stat.ino} ${stat.mtimeMs} ${content}`;
    });
}

/** The one fault of a step, taken in a folder; what it does not refuse it does, and prints. */
async function faultOf(folder: string, step: () => Promise<void>): Promise<InputIssue> {
  const before = process.cwd();
  process.chdir(folder);
  try {
    await step();
  } catch (error) {
    if (error instanceof InputError && error.issues.length === 1) return error.issues[0]!;
    throw error;
  } finally {
    process.chdir(before);
  }
  throw new Error('nothing was refused');
}

const small = (intervals: string, force = false) => compare('site.yaml', { strategy: ['none'], intervals, force });
const clean = (write: string, force = false) => inspect(['home.csv'], { zone: 'Australia/Adelaide', write, force });

/** How a file of ours begins: one that may be replaced. */
const OURS = '# format: duskbank.interval/1\nold\n';

const CLEAN = ['inspect', 'home.csv', '--zone', 'Australia/Adelaide', '--write', 'clean.csv'];
const FLOWS = ['compare', 'site.yaml', '--strategy', 'none', '--csv', '--intervals'];

describe('a file that the run reads is never an output', () => {
  /** Ten and more names of one file, each made in a copy of the small home. */
  const NAMES: Record<string, (folder: string) => string | undefined> = {
    'as it is named in the site file': () => 'home.csv',
    'with a dot': () => './home.csv',
    'with two slashes': () => './/home.csv',
    'through another folder': (folder) => {
      mkdirSync(join(folder, 'sub'));
      return 'sub/../home.csv';
    },
    'through the folder above': (folder) => `../${folder.split(sep).at(-1)}/home.csv`,
    'by its whole path': (folder) => join(folder, 'home.csv'),
    'by its real path': (folder) => join(realpathSync(folder), 'home.csv'),
    'by a symbolic link': (folder) => {
      symlinkSync('home.csv', join(folder, 'link.csv'));
      return 'link.csv';
    },
    'by a link to a link': (folder) => {
      symlinkSync('home.csv', join(folder, 'link.csv'));
      symlinkSync(join(folder, 'link.csv'), join(folder, 'again.csv'));
      return 'again.csv';
    },
    'by a hard link': (folder) => {
      linkSync(join(folder, 'home.csv'), join(folder, 'hard.csv'));
      return 'hard.csv';
    },
    'by a link to a hard link': (folder) => {
      linkSync(join(folder, 'home.csv'), join(folder, 'hard.csv'));
      symlinkSync('hard.csv', join(folder, 'link.csv'));
      return 'link.csv';
    },
    'through a link to its folder': (folder) => {
      symlinkSync('.', join(folder, 'here'));
      return 'here/home.csv';
    },
    'through the folder of the process': () => (existsSync('/proc/self/cwd') ? '/proc/self/cwd/home.csv' : undefined),
    'in other letters, where the disk makes no difference': (folder) =>
      existsSync(join(folder, 'HOME.csv')) ? 'HOME.csv' : undefined,
    'the site file': () => 'site.yaml',
    'the tariff file': () => 'tariff.yaml',
  };

  test.each(Object.keys(NAMES))('%s', async (key) => {
    const folder = copyOf('small');
    const name = NAMES[key]!(folder);
    if (name === undefined) return;
    const before = stateOf(folder);
    for (const force of [false, true]) {
      const fault = await faultOf(folder, () => small(name, force));
      expect(fault).toMatchObject({ code: 'output-is-input', where: { file: name } });
      expect(stateOf(folder)).toEqual(before);
    }
  });

  test('the name under which it was read is told beside the other one', () => {
    const folder = copyOf('small');
    linkSync(join(folder, 'home.csv'), join(folder, 'flows.csv'));
    expect(duskbank([...FLOWS, 'flows.csv'], folder).stderr).toBe(
      'error: flows.csv: received a file that this run reads, as home.csv; expected the name of another file\n' +
        '  hint: name a new file: what a run reads is never written over\n',
    );
  });

  test('one that is named by a link is not written over under its own name', () => {
    const folder = copyOf('small');
    renameSync(join(folder, 'home.csv'), join(folder, 'real.csv'));
    symlinkSync('real.csv', join(folder, 'home.csv'));
    const before = stateOf(folder);
    expect(duskbank([...FLOWS, 'real.csv', '--force'], folder).status).toBe(2);
    expect(stateOf(folder)).toEqual(before);
  });

  test('whatever a site names: tariff, its prices and its follower, reach, planned solar, several meters', async () => {
    const rows = (header: string, value: string) =>
      `${header}\n${Array.from({ length: 384 }, (_, i) => `${new Date(Date.UTC(2025, 0, 13) + i * 900_000).toISOString().slice(0, 16)},${value}\n`).join('')}`;
    const tariff = (name: string, more: object) =>
      JSON.stringify({ format: 'duskbank.tariff/1', name, currency: 'USD', ...more });
    const files = {
      'site.json': JSON.stringify({
        format: 'duskbank.site/1',
        name: 'A home',
        zone: 'UTC',
        meter: { files: ['load.csv', { path: 'deep/sun.csv' }] },
        tariff: 'now.json',
        plannedSolar: { file: 'planned.csv' },
        plant: {
          battery: { units: 1, usableKwh: 5, chargeKw: 2, dischargeKw: 3, roundTripEfficiency: 0.88 },
          reach: { file: 'reach.csv' },
        },
      }),
      'load.csv': rows('start,load kWh', '0.2'),
      'deep/sun.csv': rows('start,solar kWh', '0.1'),
      'planned.csv': rows('start,solar kWh', '0.1'),
      'reach.csv': rows('start,load kWh', '0.1'),
      'now.json': tariff('Now', {
        energy: [{ name: 'Market', series: { file: 'spot.csv' } }],
        life: { endsOn: '2029-12-31', successor: 'Then', successorFile: 'then.json' },
      }),
      'then.json': tariff('Then', { windows: [{ name: 'any', otherwise: true, pricePerKwh: 0.2 }] }),
      'spot.csv': `start,price\n${Array.from({ length: 97 }, (_, h) => `${new Date(Date.UTC(2025, 0, 13, h)).toISOString()},0.1`).join('\n')}\n`,
    };
    const folder = folderWith(files);
    const before = stateOf(folder);
    for (const name of Object.keys(files)) {
      const to = { intervals: join(folder, name), force: true, strategy: ['none'] };
      expect(await faultOf(folder, () => compare('site.json', to)), name).toMatchObject({ code: 'output-is-input' });
    }
    expect(stateOf(folder)).toEqual(before);
    const run = duskbank(['compare', 'site.json', '--strategy', 'none', '--intervals', 'flows.csv'], folder);
    expect(run.status, run.stderr).toBe(0);
  });

  test('inspect: the file, one of several, an archive, standard input', async () => {
    const text = readFileSync(join(ROOT, 'fixtures/meter/files/01-spring-missing.csv'), 'utf8');
    const lines = text.split('\n');
    const folder = folderWith({
      'a.csv': `${lines.slice(0, 250).join('\n')}\n`,
      'b.csv': [lines[0], ...lines.slice(250)].join('\n'),
      'c.csv.gz': gzipSync(text),
      'd.csv': 'no table\n',
    });
    const before = stateOf(folder);
    for (const [files, write] of [
      [['a.csv'], 'a.csv'],
      [['a.csv', 'b.csv'], 'b.csv'],
      [['a.csv', 'b.csv'], './a.csv'],
      [['c.csv.gz'], 'c.csv.gz'],
      // Before it is looked into: what can't be read as intervals is somebody's, too.
      [['a.csv', 'd.csv'], join(folder, 'd.csv')],
    ] as const)
      for (const force of [false, true]) {
        const fault = await faultOf(folder, () => inspect(files, { zone: 'America/Denver', write, force }));
        expect(fault.code, write).toBe('output-is-input');
      }
    expect(stateOf(folder)).toEqual(before);
    const own = duskbank(['inspect', 'a.csv', '--zone', 'America/Denver', '--write', 'a.csv'], folder);
    expect(own).toMatchObject({ status: 2, stdout: '' });
    if (!existsSync('/dev/stdin')) return;
    const piped = spawnSync(
      'sh',
      [
        '-c',
        '"$0" "$1" inspect /dev/stdin --zone America/Denver --write a.csv --force < a.csv',
        process.execPath,
        BINARY,
      ],
      { cwd: folder, encoding: 'utf8' },
    );
    expect(piped).toMatchObject({ status: 2, stdout: '' });
    expect(piped.stderr).toContain('a.csv: received a file that this run reads, as /dev/stdin');
    expect(stateOf(folder)).toEqual(before);
  });

  test('an input that another program has saved anew meanwhile is still none', async () => {
    const folder = folderWith({ 'a.csv': readFileSync(join(ROOT, 'fixtures/meter/files/01-spring-missing.csv')) });
    const [a, b] = [join(folder, 'a.csv'), join(folder, 'b.csv')];
    const first = await faultOf(folder, () => inspect([a], { zone: 'America/Denver', write: a }));
    expect(first.code).toBe('output-is-input');
    // From here on this process has read the file. Now another one stands under its name.
    copyFileSync(a, b);
    renameSync(b, a);
    const second = await faultOf(folder, () => inspect([], { write: a, force: true }));
    expect(second.code).toBe('output-is-input');
  });
});

describe('what is replaced', () => {
  test('what Duskbank wrote, as often as one likes', () => {
    const folder = copyOf('small');
    for (let time = 0; time < 2; time++) {
      expect(duskbank([...FLOWS, 'flows.csv'], folder).status).toBe(0);
      expect(duskbank(CLEAN, folder).status).toBe(0);
    }
    const flows = readFileSync(join(folder, 'flows.csv'), 'utf8');
    // A table of our own, another one in its place, a printed result: all can be made again.
    copyFileSync(join(folder, 'clean.csv'), join(folder, 'a.csv'));
    writeFileSync(
      join(folder, 'b.json'),
      duskbank(['compare', 'site.yaml', '--strategy', 'none', '--json'], folder).stdout,
    );
    for (const name of ['a.csv', 'b.json']) {
      expect(duskbank([...FLOWS, name], folder).status).toBe(0);
      expect(readFileSync(join(folder, name), 'utf8')).toBe(flows);
    }
  });

  test('the table of flows stays plain CSV: a header first, as many cells in each row', () => {
    const folder = copyOf('small');
    expect(duskbank([...FLOWS, 'flows.csv'], folder).status).toBe(0);
    const rows = readFileSync(join(folder, 'flows.csv'), 'utf8').trimEnd().split('\n');
    expect(rows[0]).toMatch(/^strategy,start,load kWh,.*,export price$/);
    expect(new Set(rows.map((row) => row.split(',').length))).toEqual(new Set([14]));
  });

  const header = 'strategy,start,load kWh,solar kWh,standby kWh,import kWh,export kWh,charge kWh,discharge kWh';
  const OTHERS: Record<string, string> = {
    'a table of somebody’s': 'what was here before\n',
    'an empty file': '',
    'a site file that is not read': '{ "format": "duskbank.site/1" }\n',
    'a tariff file that is not read': '# mine\nformat: duskbank.tariff/1\n',
    'a site file as YAML': 'format: duskbank.site/1\n',
    'a text about our format': 'see # format: duskbank.interval/1\n',
    'a result with something before it': '[{ "format": "duskbank.compare/1" }]\n',
    'a table of flows with a column more': `${header},curtailed kWh,unserved kWh,soc kWh,import price,export price,mine\n`,
    'a table of flows saved by a spreadsheet': `${header},curtailed kWh,unserved kWh,soc kWh,import price,export price\r\n`,
    'a table of flows with a column less': `${header},curtailed kWh,unserved kWh,soc kWh,import price\n`,
  };
  test.each(Object.keys(OTHERS))('not, unless it is asked for: %s', async (key) => {
    const folder = copyOf('small');
    writeFileSync(join(folder, 'there.csv'), OTHERS[key]!);
    const before = stateOf(folder);
    for (const step of [() => small('there.csv'), () => clean('there.csv')])
      expect(describeIssue(await faultOf(folder, step))).toBe(
        'there.csv: received a file that is there and that Duskbank did not write; expected a new name, or a file that Duskbank wrote\n' +
          '  hint: name a new file, or add --force to replace this one',
      );
    expect(stateOf(folder)).toEqual(before);
  });

  test('but it is where --force says so', () => {
    const folder = copyOf('small');
    for (const name of ['clean.csv', 'flows.csv']) writeFileSync(join(folder, name), 'mine\n');
    for (const [args, name, begin] of [
      [CLEAN, 'clean.csv', '# format: duskbank.interval/1\n'],
      [[...FLOWS, 'flows.csv'], 'flows.csv', 'strategy,start,'],
    ] as const) {
      expect(duskbank(args, folder)).toMatchObject({ status: 2, stdout: '' });
      expect(readFileSync(join(folder, name), 'utf8')).toBe('mine\n');
      expect(duskbank([...args, '--force'], folder).status).toBe(0);
      expect(readFileSync(join(folder, name), 'utf8').startsWith(begin)).toBe(true);
    }
  });
});

describe('where an output can’t go', () => {
  test.skipIf(onWindows)('folders, pipes, devices, links to nothing, names that are none', async () => {
    const folder = copyOf('small');
    mkdirSync(join(folder, 'sub'));
    symlinkSync('nowhere.csv', join(folder, 'dangling.csv'));
    symlinkSync('loop-b.csv', join(folder, 'loop-a.csv'));
    symlinkSync('loop-a.csv', join(folder, 'loop-b.csv'));
    symlinkSync('sub', join(folder, 'to-sub'));
    symlinkSync('/dev/null', join(folder, 'to-null'));
    expect(spawnSync('mkfifo', [join(folder, 'pipe')]).status).toBe(0);
    const before = stateOf(folder);
    for (const [name, told] of [
      ['.', 'a folder of this name'],
      ['sub', 'a folder of this name'],
      ['to-sub', 'a folder of this name'],
      ['sub/', 'the name of a folder'],
      ['new/', 'the name of a folder'],
      ['', 'an empty name'],
      ['pipe', 'a pipe'],
      ['/dev/null', 'a device'],
      ['to-null', 'a device'],
      ['dangling.csv', 'a link that leads nowhere'],
      ['loop-a.csv', 'a link that leads nowhere'],
      ['none/flows.csv', 'a folder that does not exist'],
      ['home.csv/flows.csv', 'a path through a file, as if that were a folder'],
      ['home.csv/new/flows.csv', 'a path through a file, as if that were a folder'],
      [`${'x'.repeat(300)}.csv`, 'a place that refuses (ENAMETOOLONG)'],
    ] as const)
      for (const step of [() => small(name, true), () => clean(name, true)]) {
        const { received, code } = await faultOf(folder, step);
        expect([received, code], name).toEqual([told, 'cannot-write']);
      }
    expect(stateOf(folder)).toEqual(before);
  });

  test.skipIf(onWindows)('the file into which the run prints', () => {
    const folder = copyOf('small');
    const run = spawnSync(
      'sh',
      ['-c', `"$0" "$1" ${FLOWS.join(' ')} out.csv --force > out.csv`, process.execPath, BINARY],
      { cwd: folder, encoding: 'utf8' },
    );
    expect(run.status).toBe(2);
    expect(run.stderr).toContain('out.csv: received the file that this run prints to');
  });

  test('a read-only file, with --force neither', () => {
    const folder = copyOf('small');
    writeFileSync(join(folder, 'flows.csv'), OURS);
    chmodSync(join(folder, 'flows.csv'), 0o444);
    const before = stateOf(folder);
    for (const force of [[], ['--force']]) {
      const run = duskbank([...FLOWS, 'flows.csv', ...force], folder);
      expect(run).toMatchObject({ status: 2, stdout: '' });
      expect(run.stderr).toContain('a read-only file');
    }
    expect(stateOf(folder)).toEqual(before);
  });

  // As root nothing is refused: there the run is made as another user.
  const OTHER = { uid: 65_534, gid: 65_534 };
  const asOther = (args: readonly string[], cwd: string, env: NodeJS.ProcessEnv = {}) => {
    for (const folder of [cwd, helpers]) chmodSync(folder, 0o755);
    return spawnSync(process.execPath, [BINARY, ...args], {
      cwd,
      env: { ...process.env, ...env },
      encoding: 'utf8',
      ...(isRoot ? OTHER : {}),
    });
  };
  const otherCanRun = !isRoot || asOther(['--version'], folderWith()).status === 0;

  test.skipIf(onWindows || !otherCanRun)('a folder that may not be written to', () => {
    const folder = copyOf('small');
    mkdirSync(join(folder, 'locked'), { mode: 0o555 });
    const before = stateOf(folder);
    const run = asOther([...FLOWS, 'locked/flows.csv'], folder, loading('unasked.cjs'));
    expect(run, run.stderr).toMatchObject({ status: 2, stdout: '' });
    expect(run.stderr).toContain('locked/flows.csv: received a place that refuses (EACCES)');
    expect(stateOf(folder)).toEqual(before);
  });

  test.skipIf(!isRoot || !otherCanRun)('a file of somebody else, which would change hands', () => {
    const folder = copyOf('small');
    mkdirSync(join(folder, 'shared'));
    chmodSync(join(folder, 'shared'), 0o777);
    writeFileSync(join(folder, 'shared/flows.csv'), OURS);
    chmodSync(join(folder, 'shared/flows.csv'), 0o666);
    const before = stateOf(folder);
    for (const force of [[], ['--force']]) {
      const run = asOther([...FLOWS, 'shared/flows.csv', ...force], folder);
      expect(run).toMatchObject({ status: 2, stdout: '' });
      expect(run.stderr).toContain('a file of somebody else');
    }
    expect(stateOf(folder)).toEqual(before);
  });
});

describe('what stays of the file that is replaced', () => {
  test.skipIf(onWindows)('its mode', () => {
    const folder = copyOf('small');
    writeFileSync(join(folder, 'flows.csv'), OURS);
    for (const mode of [0o600, 0o666, 0o246]) {
      chmodSync(join(folder, 'flows.csv'), mode);
      expect(duskbank([...FLOWS, 'flows.csv'], folder).status).toBe(0);
      expect(statSync(join(folder, 'flows.csv')).mode & 0o7777).toBe(mode);
    }
  });

  test.skipIf(onWindows)('a new file has the mode that the user’s other new files have', () => {
    const folder = copyOf('small');
    writeFileSync(join(folder, 'other'), '');
    expect(duskbank([...FLOWS, 'flows.csv'], folder).status).toBe(0);
    expect(statSync(join(folder, 'flows.csv')).mode).toBe(statSync(join(folder, 'other')).mode);
  });

  test.skipIf(!isRoot)('its owner, where root runs', () => {
    const folder = copyOf('small');
    writeFileSync(join(folder, 'flows.csv'), OURS);
    chownSync(join(folder, 'flows.csv'), 1234, 2345);
    chmodSync(join(folder, 'flows.csv'), 0o640);
    expect(duskbank([...FLOWS, 'flows.csv'], folder).status).toBe(0);
    const { uid, gid, mode } = statSync(join(folder, 'flows.csv'));
    expect([uid, gid, mode & 0o7777]).toEqual([1234, 2345, 0o640]);
  });

  test('a link, also to another folder; what it leads to is replaced there', () => {
    const folder = copyOf('small');
    mkdirSync(join(folder, 'elsewhere'));
    writeFileSync(join(folder, 'elsewhere/flows.csv'), OURS);
    symlinkSync('elsewhere/flows.csv', join(folder, 'link.csv'));
    expect(duskbank([...FLOWS, 'link.csv'], folder).status).toBe(0);
    expect(lstatSync(join(folder, 'link.csv')).isSymbolicLink()).toBe(true);
    expect(readFileSync(join(folder, 'elsewhere/flows.csv'), 'utf8')).toMatch(/^strategy,/);
    expect(readdirSync(join(folder, 'elsewhere'))).toEqual(['flows.csv']);
  });

  test('other names of it keep what they had', () => {
    const folder = copyOf('small');
    writeFileSync(join(folder, 'flows.csv'), OURS);
    linkSync(join(folder, 'flows.csv'), join(folder, 'kept.csv'));
    expect(duskbank([...FLOWS, 'flows.csv'], folder).status).toBe(0);
    expect(readFileSync(join(folder, 'kept.csv'), 'utf8')).toBe(OURS);
    expect(readFileSync(join(folder, 'flows.csv'), 'utf8')).toMatch(/^strategy,/);
  });
});

const partsIn = (folder: string) => readdirSync(folder).filter((name) => name.endsWith('.part'));

const running = new Set<() => void>();
afterEach(() => {
  for (const end of running) end();
  running.clear();
});

/** A run that has begun to write, and writes on once it is let go. */
async function heldRun(args: readonly string[], cwd: string) {
  const hold = join(folderWith({ hold: '' }), 'hold');
  const seen = new Set(partsIn(cwd));
  const child = spawn(process.execPath, [BINARY, ...args], {
    cwd,
    env: { ...process.env, ...loading('wait.cjs'), HOLD: hold },
    stdio: ['ignore', 'ignore', 'pipe'],
  });
  let stderr = '';
  child.stderr.setEncoding('utf8').on('data', (text: string) => {
    stderr += text;
  });
  const ended = new Promise<{ status: number | null; signal: string | null; stderr: string }>((settle) =>
    child.on('close', (status, signal) => settle({ status, signal, stderr })),
  );
  running.add(() => child.kill('SIGKILL'));
  let part: string | undefined;
  while (part === undefined && child.exitCode === null) {
    await new Promise((settle) => setTimeout(settle, 5));
    part = partsIn(cwd).find((name) => !seen.has(name));
  }
  expect(part, `it ended without an unfinished file: ${stderr}`).toBeDefined();
  return {
    part: part!,
    kill: (signal: NodeJS.Signals) => child.kill(signal),
    /** Lets it go on, and says how it ended. */
    end: () => {
      rmSync(hold, { force: true });
      return ended;
    },
  };
}

const TWO_FLOWS = ['compare', 'site.yaml', '--strategy', 'none', 'hold', '--csv', '--intervals'];

describe.skipIf(onWindows)('a run that is ended while it writes', () => {
  test.each(['SIGINT', 'SIGTERM'] as const)('by %s leaves the old file and nothing else', async (signal) => {
    const folder = copyOf('small');
    writeFileSync(join(folder, 'flows.csv'), OURS);
    const before = stateOf(folder);
    const run = await heldRun([...TWO_FLOWS, 'flows.csv'], folder);
    run.kill(signal);
    expect(await run.end()).toMatchObject({ status: null, signal });
    expect(stateOf(folder)).toEqual(before);
  });

  test('by SIGKILL leaves the old file; the next run removes the rest, init too', async () => {
    const folder = copyOf('small');
    writeFileSync(join(folder, 'flows.csv'), OURS);
    const before = stateOf(folder);
    for (const next of [
      [...FLOWS, 'flows.csv'],
      ['init', '.'],
    ]) {
      const run = await heldRun([...TWO_FLOWS, 'flows.csv'], folder);
      run.kill('SIGKILL');
      await run.end();
      expect(partsIn(folder)).toEqual([run.part]);
      if (next[0] === 'init')
        for (const name of ['site.yaml', 'tariff.yaml']) renameSync(join(folder, name), join(folder, `my-${name}`));
      else expect(stateOf(folder).filter((line) => !line.includes('.part '))).toEqual(before);
      expect(duskbank(next, folder).status).toBe(0);
      expect(partsIn(folder)).toEqual([]);
    }
  });

  test('one that still writes keeps its file, whatever other runs do', async () => {
    const folder = copyOf('small');
    const run = await heldRun([...TWO_FLOWS, 'slow.csv'], folder);
    expect(duskbank([...TWO_FLOWS, 'quick.csv'], folder).status).toBe(0);
    expect(partsIn(folder)).toEqual([run.part]);
    expect(await run.end()).toMatchObject({ status: 0 });
    expect(partsIn(folder)).toEqual([]);
    expect(readFileSync(join(folder, 'slow.csv'))).toEqual(readFileSync(join(folder, 'quick.csv')));
  });

  test('two onto one file: each whole, the last one stays', async () => {
    const folder = copyOf('small');
    const first = await heldRun([...TWO_FLOWS, 'flows.csv'], folder);
    const second = await heldRun([...FLOWS, 'flows.csv'], folder);
    expect(await first.end()).toMatchObject({ status: 0 });
    const ofFirst = readFileSync(join(folder, 'flows.csv'), 'utf8');
    expect(await second.end()).toMatchObject({ status: 0 });
    const ofSecond = readFileSync(join(folder, 'flows.csv'), 'utf8');
    // 21 days of half hours, one of them of 25 hours: 1,010 rows a strategy, of two and of one.
    expect(ofFirst.trimEnd().split('\n')).toHaveLength(1 + 2 * 1010);
    expect(ofSecond.trimEnd().split('\n')).toHaveLength(1 + 1010);
    expect(partsIn(folder)).toEqual([]);
  });

  test.each([
    ['a sheet', '{"format":"duskbank.sheet/1","reservePercent":20,"schedules":[]}'],
    ['a result as somebody writes it', '{"format": "duskbank.compare/1"}\n'],
    ['a result without the version that made it', '{\n  "format": "duskbank.compare/1",\n  "mine": 1\n}\n'],
    ['a format that is none', '{\n  "format": "duskbank.mine/1",\n  "version": "1"\n}\n'],
  ])('%s of the user’s that bears our mark is not replaced', (_, text) => {
    const folder = copyOf('small');
    writeFileSync(join(folder, 'mine.json'), text);
    const { status, stderr } = duskbank([...FLOWS, 'mine.json'], folder);
    expect(status).toBe(2);
    expect(stderr).toContain('that Duskbank did not write');
    expect(readFileSync(join(folder, 'mine.json'), 'utf8')).toBe(text);
  });

  test('what any command printed as JSON is replaced, whichever report it is', () => {
    const folder = folderWith();
    for (const name of Object.keys(reportSchemas)) {
      writeFileSync(join(folder, 'result.json'), `{\n  "format": "duskbank.${name}/1",\n  "version": "0.1.0"\n}\n`);
      expect(isOurs(join(folder, 'result.json')), name).toBe(true);
    }
  });

  test('a file of the user’s that comes in its place meanwhile is not replaced', async () => {
    const folder = copyOf('small');
    const run = await heldRun([...FLOWS, 'flows.csv'], folder);
    writeFileSync(join(folder, 'flows.csv'), 'mine\n');
    const { status, stderr } = await run.end();
    expect(status).toBe(2);
    expect(stderr).toContain('that Duskbank did not write');
    expect(readFileSync(join(folder, 'flows.csv'), 'utf8')).toBe('mine\n');
    expect(partsIn(folder)).toEqual([]);
  });

  test('a file in the making is nobody else’s to read, where the old one is not', async () => {
    const folder = copyOf('small');
    writeFileSync(join(folder, 'flows.csv'), OURS);
    chmodSync(join(folder, 'flows.csv'), 0o600);
    const run = await heldRun([...FLOWS, 'flows.csv'], folder);
    expect(statSync(join(folder, run.part)).mode & 0o777).toBe(0o600);
    await run.end();
  });
});

test('of files left behind only ours are removed: of this machine at once, of others after a day', () => {
  const folder = copyOf('small');
  // The name of a run of this machine, as a killed run leaves it; the number belongs to no process.
  const probe = folderWith({ 'home.csv': readFileSync(join(folder, 'home.csv')) });
  const killed = spawnSync(
    process.execPath,
    [BINARY, 'inspect', 'home.csv', '--zone', 'Australia/Adelaide', '--write', 'x.csv'],
    { cwd: probe, env: { ...process.env, ...loading('die.cjs') } },
  );
  expect(killed.signal ?? killed.status).not.toBe(0);
  const [left] = partsIn(probe);
  expect(left).toMatch(/^\.duskbank-[0-9a-f]{8}-\d+-[0-9a-f]{12}\.part$/);
  const [, machine] = left!.split('-');
  const other = machine === '00000000' ? '11111111' : '00000000';
  const KEPT = [
    `.duskbank-${machine}-${process.pid}-0123456789ab.part`,
    `.duskbank-${other}-999999-0123456789ab.part`,
    '.flows.csv.0123456789ab.part',
    'flows.csv.part',
    `.duskbank-${machine}-999999-0123456789ab.part.txt`,
    `.duskbank-${machine}-999999-0123.part`,
  ];
  const SWEPT = [left!, `.duskbank-${other}-999999-ba9876543210.part`];
  for (const name of [...KEPT, ...SWEPT]) writeFileSync(join(folder, name), 'left\n');
  mkdirSync(join(folder, `.duskbank-${machine}-999999-aaaaaaaaaaaa.part`));
  const yesterday = Date.now() / 1000 - 25 * 3600;
  utimesSync(join(folder, SWEPT[1]!), yesterday, yesterday);
  expect(duskbank([...FLOWS, 'flows.csv'], folder).status).toBe(0);
  expect(partsIn(folder).sort()).toEqual(
    [...KEPT, `.duskbank-${machine}-999999-aaaaaaaaaaaa.part`].filter((name) => name.endsWith('.part')).sort(),
  );
  for (const name of KEPT) expect(readFileSync(join(folder, name), 'utf8')).toBe('left\n');
  // Somebody may be saving what such a run has left: what is read isn't swept away.
  writeFileSync(join(folder, left!), readFileSync(join(folder, 'home.csv')));
  const saving = ['inspect', left!, '--zone', 'Australia/Adelaide', '--write', 'saved.csv'];
  expect(duskbank(saving, folder).status).toBe(0);
  expect(partsIn(folder)).toContain(left);
});

describe('a disk that is full', () => {
  // By an injected failure: the program's writes throw as the system's would, once so many bytes are on the disk.
  test.each([0, 5000])('compare keeps the old file and leaves nothing: full after %i bytes', (room) => {
    const folder = copyOf('small');
    writeFileSync(join(folder, 'flows.csv'), OURS);
    const before = stateOf(folder);
    const run = duskbank([...FLOWS, 'flows.csv'], folder, { ...loading('full.cjs'), ROOM: String(room) });
    expect(run).toMatchObject({ status: 2, stdout: '' });
    expect(run.stderr).toContain('flows.csv: received a disk that is full');
    expect(stateOf(folder)).toEqual(before);
  });

  // site.yaml has some 1,900 bytes, tariff.yaml 1,200: full before the first, in it, between the two, in the second.
  test.each([0, 700, 1900, 2500])('init leaves nothing behind: full after %i bytes', (room) => {
    const env = { ...loading('full.cjs'), ROOM: String(room) };
    const folder = folderWith({ 'mine.txt': 'mine\n' });
    const before = stateOf(folder);
    for (const target of ['.', 'a/b/home']) {
      const run = duskbank(['init', target], folder, env);
      expect(run, target).toMatchObject({ status: 2, stdout: '' });
      expect(run.stderr).toContain('a disk that is full');
      expect(stateOf(folder)).toEqual(before);
    }
  });

  // By the system itself: a shell forbids files above a size (in blocks of 1,024 bytes), and to die of it.
  test.skipIf(onWindows)('the system’s own limit on the size of files is told, and nothing is left', () => {
    const limited = (blocks: number, args: readonly string[], cwd: string) =>
      spawnSync(
        'bash',
        ['-c', `trap '' XFSZ; ulimit -f ${blocks}; exec "$@"`, 'bash', process.execPath, BINARY, ...args],
        {
          cwd,
          encoding: 'utf8',
        },
      );
    const folder = copyOf('small');
    const before = stateOf(folder);
    for (const [blocks, args] of [
      [20, [...FLOWS, 'flows.csv']],
      [20, ['inspect', 'home.csv', '--zone', 'Australia/Adelaide', '--write', 'clean.csv']],
      [0, ['init', 'new']],
      [1, ['init', 'new']],
    ] as const) {
      const run = limited(blocks, args, folder);
      expect(run, `${run.stderr}`).toMatchObject({ status: 2, stdout: '' });
      expect(run.stderr).toContain('a place that refuses (EFBIG)');
      expect(stateOf(folder)).toEqual(before);
    }
    expect(limited(1000, ['init', 'new'], folder).status).toBe(0);
  });
});

test('a reader of the output who goes away does not take the file along', () => {
  const folder = copyOf('small');
  const run = spawnSync(
    'sh',
    ['-c', '"$0" "$1" inspect home.csv --zone Australia/Adelaide --write clean.csv | true', process.execPath, BINARY],
    { cwd: folder, encoding: 'utf8' },
  );
  expect(run.status).toBe(0);
  expect(readFileSync(join(folder, 'clean.csv'), 'utf8')).toMatch(/^# format: duskbank\.interval\/1\n/);
  expect(partsIn(folder)).toEqual([]);
});

test('commands and their texts write through io alone, and there one file replaces', () => {
  const sources = join(ROOT, 'packages/cli/src');
  const usingFiles: string[] = [];
  const renaming: string[] = [];
  for (const name of readdirSync(sources, { recursive: true, encoding: 'utf8' })) {
    if (!name.endsWith('.ts')) continue;
    const source = readFileSync(join(sources, name), 'utf8');
    if (/node:fs|process\.binding/.test(source)) usingFiles.push(relative('.', name));
    if (/writeFile|writeSync|createWriteStream|renameSync|copyFile/.test(source)) renaming.push(name);
  }
  expect(usingFiles.sort()).toEqual(['ours', 'part', 'place', 'read', 'write'].map((name) => join('io', `${name}.ts`)));
  expect(renaming).toEqual([join('io', 'write.ts')]);
});
