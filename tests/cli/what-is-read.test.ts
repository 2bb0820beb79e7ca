import { execFileSync, spawn } from 'node:child_process';
import { once } from 'node:events';
import { existsSync, readFileSync, symlinkSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { parse } from 'yaml';
import { schemaFaults } from '../support/reports.ts';
import { BINARY, copyOf, duskbank, folderWith } from './support.ts';

const isPosix = process.platform !== 'win32';
const TARIFF_SAYS = 'holds every minute of every day once';

/** Runs a line of a shell in a folder, DUSKBANK standing for the command line. */
function inShell(line: string, cwd: string): { status: number; stdout: string; stderr: string } {
  const run = { status: 0, stdout: '', stderr: '' };
  try {
    run.stdout = execFileSync(
      'bash',
      ['-c', `${line.replaceAll('DUSKBANK', `"${process.execPath}" "${BINARY}"`)} 2>err`],
      {
        cwd,
        encoding: 'utf8',
        timeout: 60_000,
        stdio: ['ignore', 'pipe', 'pipe'],
      },
    );
  } catch (error) {
    const { status, stdout } = error as { status: number | null; stdout: string };
    run.status = status ?? -1;
    run.stdout = stdout;
  }
  run.stderr = existsSync(join(cwd, 'err')) ? readFileSync(join(cwd, 'err'), 'utf8') : '';
  return run;
}

describe.runIf(isPosix)('what can’t be read to an end is refused, with its name, at once', () => {
  const folder = copyOf('small');
  execFileSync('mkfifo', [join(folder, 'nobody')]);
  symlinkSync('circle', join(folder, 'circle'));
  const refused: [name: string, code: string, says: string][] = [
    ['/dev/zero', 'not-a-file', 'a device'],
    ['/dev/null', 'not-a-file', 'a device'],
    ['nobody', 'pipe-silent', 'a pipe from which nothing came for 1 s'],
    ['circle', 'not-a-file', 'a link that leads round in a circle'],
    ['x'.repeat(5000), 'path-impossible', 'a name longer than any file has'],
    ['.', 'not-a-file', 'a folder'],
  ];

  test.each(refused)('%.12s: %s', (name, code, says) => {
    for (const command of ['check', 'compare', 'tariff']) {
      const run = duskbank([command, name, '--json'], folder);
      expect(run.status).toBe(2);
      expect(run.stderr).toContain(`received ${says}`);
      expect(JSON.parse(run.stdout).faults[0]).toMatchObject({ code, where: { file: name } });
    }
  });

  test('named in a site file they are refused by where they are named, a name with a NUL in it too', () => {
    for (const [path, says] of [
      ['/dev/zero', 'a device'],
      ['nobody', 'a pipe'],
      ['a\0b', 'a name that no file can have'],
    ] as const) {
      const site = parse(readFileSync(join(folder, 'site.yaml'), 'utf8'));
      writeFileSync(join(folder, 'other.json'), JSON.stringify({ ...site, meter: { ...site.meter, files: [path] } }));
      const run = duskbank(['compare', 'other.json'], folder);
      expect(run.status, path).toBe(2);
      expect(run.stderr).toContain(says);
      expect(run.stderr).toContain('field "meter.files[0]"');
    }
  });

  test('standard input that is a device is none', () => {
    const run = inShell('DUSKBANK check - < /dev/null', folder);
    expect(run.status).toBe(2);
    expect(run.stderr).toContain('received a terminal or a device');
  });
});

describe.runIf(isPosix)('a pipe is read once, to its end', () => {
  test.each([
    'DUSKBANK check - < tariff.yaml',
    'cat tariff.yaml | DUSKBANK check -',
    'DUSKBANK check <(cat tariff.yaml)',
    '(sleep 1.5; cat tariff.yaml) | DUSKBANK check -',
    'DUSKBANK check <(sleep 1.5; cat tariff.yaml)',
  ])('%s', (line) => {
    const run = inShell(line, copyOf('small'));
    expect(run.stderr).toBe('');
    expect(run.stdout).toContain(TARIFF_SAYS);
    expect(run.status).toBe(0);
  });

  test('a site from a pipe names its files from the folder that one is in, and gives the result of the file', () => {
    const folder = copyOf('small');
    const named = inShell('DUSKBANK compare site.yaml', folder).stdout;
    expect(named).toContain('a year');
    for (const line of ['cat site.yaml | DUSKBANK compare -', 'DUSKBANK compare <(cat site.yaml)'])
      expect(inShell(line, folder).stdout).toBe(named);
  });

  test('more than any file of its kind is refused while it comes, however long it would go on', () => {
    const run = inShell('yes | DUSKBANK tariff -', folderWith());
    expect(run.status).toBe(2);
    expect(run.stderr).toContain('received a file of at least 1,048,577 bytes; expected at most 1,048,576 bytes');
  });

  test('a named pipe waits for who writes to it', async () => {
    const folder = copyOf('small');
    execFileSync('mkfifo', [join(folder, 'pipe')]);
    // The writer opens the pipe as soon as it is read from, so that on a busy machine it isn't later than the reader's patience.
    const writer = spawn('bash', ['-c', 'exec 3> pipe; sleep 0.3; cat tariff.yaml >&3'], { cwd: folder });
    const reader = spawn(process.execPath, [BINARY, 'check', 'pipe'], { cwd: folder });
    let stdout = '';
    reader.stdout.setEncoding('utf8').on('data', (text: string) => {
      stdout += text;
    });
    await once(reader, 'close');
    writer.kill();
    expect(stdout).toContain(TARIFF_SAYS);
  });

  test('what comes by standard input is an input like any other: --write doesn’t replace it', () => {
    const folder = copyOf('small');
    const before = readFileSync(join(folder, 'home.csv'), 'utf8');
    const run = inShell('DUSKBANK inspect - --zone America/Denver --write home.csv --force < home.csv', folder);
    expect(run.status).toBe(2);
    expect(readFileSync(join(folder, 'home.csv'), 'utf8')).toBe(before);
  });
});

describe('with --json a refused input is an object', () => {
  test.each(['compare', 'settings', 'outage', 'circuits', 'bill', 'tariff', 'init --meter', 'explain'])(
    '%s',
    (command) => {
      const at = command === 'explain' ? ['--at', '2026-01-15T18:30'] : [];
      const run = duskbank([...command.split(' '), 'none.json', '--json', ...at]);
      expect(run.status).toBe(2);
      const refusal = JSON.parse(run.stdout);
      expect(schemaFaults('refusal', refusal)).toEqual([]);
      expect(refusal.faults[0]).toMatchObject({ code: 'file-missing', where: { file: 'none.json' } });
      expect(run.stderr).toContain(refusal.faults[0].message.split('\n')[0]);
    },
  );

  test.each([
    ['compare site.yaml --json --csv', /'--csv' cannot be used with option '--json'/, undefined],
    ['bill site.yaml --csv --json', /'--csv' cannot be used with option '--json'/, undefined],
    ['explain site.yaml --json', /'--at <time>' not specified/, undefined],
    ['outage --json', /missing required argument 'site'/, undefined],
    ['check site.yaml --json --zon UTC', /unknown option '--zon'/, 'Did you mean --zone?'],
    ['compre site.yaml --json', /unknown command 'compre'/, 'Did you mean compare?'],
  ])('and so is a call that can’t be read: %s', (args, says, hint) => {
    const run = duskbank(args.split(' '));
    expect(run.status).toBe(2);
    const refusal = JSON.parse(run.stdout);
    expect(schemaFaults('refusal', refusal)).toEqual([]);
    expect(refusal.faults).toHaveLength(1);
    expect(refusal.faults[0]).toMatchObject({ code: 'misuse', received: expect.stringMatching(says) });
    expect(refusal.faults[0].hint).toBe(hint);
    expect(run.stderr).toMatch(says);
  });

  test('it names the site file as the text does, where a study alone knows the field', () => {
    const folder = copyOf('small');
    const { plant: _, backup: __, ...site } = parse(readFileSync(join(folder, 'site.yaml'), 'utf8'));
    writeFileSync(join(folder, 'bare.json'), JSON.stringify(site));
    const run = duskbank(['settings', 'bare.json', '--json'], folder);
    expect(run.status).toBe(2);
    const [fault] = JSON.parse(run.stdout).faults;
    expect(fault.where).toMatchObject({ file: 'bare.json', path: ['plant'] });
    expect(run.stderr).toContain(fault.message.split('\n')[0]);
  });

  test('one object, no more, where the command prints what it understood', () => {
    const folder = folderWith({ 'site.json': '{"format": "duskbank.site/1"}' });
    const run = duskbank(['check', 'site.json', '--json'], folder);
    expect(run.status).toBe(2);
    expect(JSON.parse(run.stdout)).toMatchObject({ format: 'duskbank.check/1', ok: false });
  });
});

test('a format in a comment is none', () => {
  const text = '# format: duskbank.site/1\nname: x\n';
  const run = duskbank(['check', 'note.yaml', '--json'], folderWith({ 'note.yaml': text }));
  expect(JSON.parse(run.stdout)).toMatchObject({ kind: 'document', faults: [{ code: 'no-format' }] });
});

test.runIf(existsSync('/dev/full'))('a disk that is full ends a command with a message and 1', () => {
  const run = inShell('DUSKBANK compare site.yaml > /dev/full', copyOf('small'));
  expect(run.status).toBe(1);
  expect(run.stderr).toContain('the output could not be written');
  expect(run.stderr).toContain('ENOSPC');
});
