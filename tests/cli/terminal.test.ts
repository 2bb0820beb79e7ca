import { spawnSync } from 'node:child_process';
import { describe, expect, test } from 'vitest';
import { BINARY, copyOf, duskbank } from './support.ts';

const ESCAPE = '\u001b';

describe('colour', () => {
  test('there is none off a terminal, whatever the environment asks for', () => {
    const folder = copyOf('small');
    for (const env of [{}, { FORCE_COLOR: '1', TERM: 'xterm-256color' }]) {
      const run = duskbank(['compare', 'site.yaml'], folder, env);
      expect(run.status).toBe(0);
      expect(run.stdout + run.stderr).not.toContain(ESCAPE);
    }
  });

  // util-linux's script(1) lends a pseudo-terminal.
  const hasTerminal = spawnSync('script', ['--version'], { encoding: 'utf8' }).stdout?.includes('util-linux') === true;

  test.skipIf(!hasTerminal)('on a terminal the sentence that counts is bold, and NO_COLOR takes that away', () => {
    const folder = copyOf('small');
    const onTerminal = (env: NodeJS.ProcessEnv) => {
      const { NO_COLOR, ...plain } = process.env;
      return spawnSync('script', ['-qec', `"${process.execPath}" "${BINARY}" compare site.yaml`, '/dev/null'], {
        cwd: folder,
        env: { ...plain, TERM: 'xterm', ...env },
        encoding: 'utf8',
      });
    };
    const bold = onTerminal({});
    expect(bold.status).toBe(0);
    expect(bold.stdout).toContain(`${ESCAPE}[1m"Flat 3, Tarrawill`);
    expect(onTerminal({ NO_COLOR: '1' }).stdout).not.toContain(ESCAPE);
    expect(onTerminal({ TERM: 'dumb' }).stdout).not.toContain(ESCAPE);
  });
});

describe('a closed pipe', () => {
  const inShell = (command: string, cwd: string) =>
    spawnSync(
      'bash',
      ['-c', `${command.replaceAll('DUSKBANK', `"${process.execPath}" "${BINARY}"`)}; echo "\${PIPESTATUS[0]}"`],
      {
        cwd,
        encoding: 'utf8',
      },
    );

  test.each(['compare site.yaml', 'compare site.yaml --json', 'schema site', 'check site.yaml', '--help'])(
    '"duskbank %s | head -1" ends well',
    (args) => {
      const { stdout, stderr } = inShell(`DUSKBANK ${args} | head -1`, copyOf('small'));
      expect(stderr).not.toMatch(/EPIPE|internal/);
      expect(stdout.trim().split('\n').at(-1)).toBe('0');
    },
  );

  test('a reader that is gone before the first byte is no failure', () => {
    const { stdout, stderr } = inShell('DUSKBANK compare site.yaml --json | true', copyOf('small'));
    expect(stderr).not.toMatch(/EPIPE|internal/);
    expect(stdout.trim()).toBe('0');
  });

  test('with notes going the same way, the exit code still tells a fault of the input', () => {
    const { stdout } = inShell('DUSKBANK compare missing.yaml 2>&1 | true', copyOf('small'));
    expect(stdout.trim()).toBe('2');
  });
});
